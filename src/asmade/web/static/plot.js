// Plots: a mark at the place asked for, and under the pointer while it is there.
export class Plot {
  // over(part or null): the pointer stands there, or nowhere; chosen(part): it was pressed there.
  constructor(root, over, chosen) {
    this.marks = [...root.querySelectorAll(".cursor")].map((group) => ({
      group, svg: group.ownerSVGElement, from: Number(group.dataset.from), to: Number(group.dataset.to),
    }));
    for (const mark of this.marks) {
      const part = (event) => {
        const x = new DOMPoint(event.clientX, event.clientY).matrixTransform(mark.svg.getScreenCTM().inverse()).x;
        return Math.min(Math.max((x - mark.from) / (mark.to - mark.from), 0), 1);
      };
      mark.svg.addEventListener("pointermove", (event) => (event.buttons ? chosen(part(event)) : over(part(event))));
      mark.svg.addEventListener("pointerdown", (event) => chosen(part(event)));
      mark.svg.addEventListener("pointerleave", () => over(null));
    }
  }

  at(part) {
    for (const mark of this.marks) {
      mark.group.transform.baseVal.getItem(0).setTranslate(mark.from + (mark.to - mark.from) * part, 0);
    }
  }
}
