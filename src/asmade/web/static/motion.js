// Moves a drawing made of groups: picks the rows on both sides of a place and goes straight from one to the other.
const along = (row, part) => {
  const last = row.length - 1;
  if (!last) return row[0];
  const at = part * last;
  const first = Math.min(Math.floor(at), last - 1);
  const one = row[first], two = row[first + 1];
  return one === null || two === null ? null : one + (two - one) * (at - first);
};

export const between = (rows, row, part) => {
  const last = rows.length - 1;
  const first = Math.min(Math.floor(row), last), second = Math.min(first + 1, last);
  const one = along(rows[first], part);
  if (first === second || one === null) return one;
  const two = along(rows[second], part);
  return two === null ? null : one + (two - one) * (row - first);
};

// Between which rows a reverser position lies; the rows are in order, either way.
export const rowOf = (positions, position) => {
  for (let i = 0; i + 1 < positions.length; i++) {
    const one = positions[i], two = positions[i + 1];
    if ((position - one) * (position - two) <= 0 && one !== two) return i + (position - one) / (two - one);
  }
  return 0;
};

const asked = new Map();
const tracksOf = (path) => {
  if (!asked.has(path)) {
    asked.set(path, fetch(path).then((answer) => {
      if (!answer.ok) throw new Error(String(answer.status));
      return answer.json();
    }));
  }
  return asked.get(path);
};

export class Moving {
  constructor(plate) {
    this.drawing = plate.querySelector("svg.moving");
    this.groups = [...plate.querySelectorAll("[data-track]")];
    this.loaded = tracksOf(plate.dataset.tracks).then((told) => {
      this.told = told;
      this.groups = this.groups.map((group) => {
        const track = told.tracks[Number(group.dataset.track)];
        const parts = group.transform.baseVal;
        const still = [track.x, track.y, track.turn].every((rows) => rows.length === 1 && rows[0].length === 1);
        return { group, track, place: parts.getItem(0), turn: parts.getItem(1), still, shown: true };
      }).filter((each) => !each.still);
      return told;
    });
  }

  // part: of a turn, 0 to 1; position: of the reverser, -1 to 1.
  at(part, position) {
    if (!this.told) return null;
    const row = rowOf(this.told.positions, position);
    for (const each of this.groups) {
      const x = between(each.track.x, row, part), y = between(each.track.y, row, part);
      const turn = between(each.track.turn, row, part);
      const known = x !== null && y !== null && turn !== null;
      if (known !== each.shown) {
        each.group.setAttribute("visibility", known ? "inherit" : "hidden");
        each.shown = known;
      }
      if (!known) continue;
      each.place.setTranslate(x, -y);
      each.turn.setRotate(-turn, 0, 0);
    }
    this.drawing.classList.add("moved");
    return row;
  }
}
