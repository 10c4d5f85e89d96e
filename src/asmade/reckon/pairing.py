"""Which piece goes with which: pins to holes, axleboxes to horns, by what each pair would come to.

Three aims, one after the other: as many pairs within their limits as can be; among those the pairing whose poorest pair
has the most margin; among those the least sum of squared misses from what is wanted. The first and the last are
assignments (Crouse's shortest augmenting paths, `scipy.optimize.linear_sum_assignment`), the second a search over the
margins that occur.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from asmade.measure.errors import OutOfRange, Refused, Unknown

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from collections.abc import Set as AbstractSet
    from typing import TypeAlias

    import numpy as np
    import numpy.typing as npt

    Floats: TypeAlias = npt.NDArray[np.float64]
    Matrix: TypeAlias = Floats | Sequence[Sequence[float]]


class Piece(NamedTuple):
    """A piece: its mark, its size (mm) and the standard uncertainty of that size (mm, 0 = as good as exact)."""

    name: str
    size: float
    u: float = 0.0


@dataclass(frozen=True, slots=True)
class Pair:
    """A first piece (hole) with its second (shaft).

    ``gap``: what the pair comes to, mm (hole less shaft; negative is tight). ``margin``: from the gap to the nearer
    limit. ``chance`` that the true gap is within the limits, the sizes being uncertain. ``miss``: gap less the one
    wanted.
    """

    first: str
    second: str
    gap: float
    margin: float
    chance: float
    miss: float


@dataclass(frozen=True, slots=True)
class Left:
    """A piece without a mate, and the mate that it would need: sizes ``low`` to ``high``, best ``wanted``, mm.

    ``nearest``: the piece of the other kind, left over too and not forbidden, that comes closest, and ``take_off``: the
    metal (mm on diameter or width) to come off the two together to make it a mate; negative means that there is
    already too little metal and none of taking off helps. None where nothing is left.
    """

    name: str
    low: float | None
    wanted: float
    high: float | None
    nearest: str | None
    take_off: float | None


@dataclass(frozen=True, slots=True)
class Total:
    """What was striven for: pairs made, least margin among them (None without any), sum of squared misses."""

    pairs: int
    least_margin: float | None
    squared_misses: float


@dataclass(frozen=True, slots=True)
class Pairing:
    """Pairs in the order of the first pieces, and the pieces of either kind left without a mate."""

    pairs: tuple[Pair, ...]
    unpaired_first: tuple[Left, ...]
    unpaired_second: tuple[Left, ...]
    total: Total


@dataclass(frozen=True, slots=True)
class Choice:
    """Result of the general form: index pairs (row, column) in the order of rows, and what was striven for."""

    pairs: tuple[tuple[int, int], ...]
    total: Total


def pair(
    holes: Sequence[tuple[str, float, float]],
    shafts: Sequence[tuple[str, float, float]],
    least: float | None,
    most: float | None,
    *,
    target: float | None = None,
    forbidden: AbstractSet[tuple[str, str]] = frozenset(),
    weights: Mapping[str, float] | None = None,
) -> Pairing:
    """Pair holes with shafts so that hole less shaft is between ``least`` and ``most`` (mm, None = no limit there).

    Pieces are (name, size in mm, standard uncertainty in mm), see `Piece`. ``target``: the gap wanted, by default the
    middle of the limits; it must be told where one limit is None. ``forbidden``: pairs (hole, shaft) that must not be.
    ``weights``: by hole name, how much its squared miss counts (above 0, 1 if not told).

    Anchor (by hand): holes 10.02, 10.05 and shafts 10.00, 10.03, limits 0 to 0.05 -> crosswise the gaps are 0.05 and
    -0.01, straight they are 0.02 and 0.02: straight.
    """
    firsts, seconds = _pieces(holes, "holes"), _pieces(shafts, "shafts")
    wanted = _wanted(least, most, target)
    barred = _barred(firsts, seconds, forbidden, weights or {})
    gaps = [[hole.size - shaft.size for shaft in seconds] for hole in firsts]
    counts = [[(weights or {}).get(hole.name, 1.0)] * len(seconds) for hole in firsts]
    choice = assign(
        gaps,
        -math.inf if least is None else least,
        math.inf if most is None else most,
        wanted,
        forbidden=barred,
        weights=counts if weights else None,
        shape=(len(firsts), len(seconds)),
    )
    pairs = tuple(
        Pair(
            firsts[i].name,
            seconds[j].name,
            gaps[i][j],
            _margin(gaps[i][j], least, most),
            chance_within(gaps[i][j], math.hypot(firsts[i].u, seconds[j].u), least, most),
            gaps[i][j] - wanted,
        )
        for i, j in choice.pairs
    )
    left_rows = set(range(len(firsts))).difference(i for i, _ in choice.pairs)
    left_columns = set(range(len(seconds))).difference(j for _, j in choice.pairs)

    def nearest(
        open_pairs: list[tuple[int, int]], others: Sequence[Piece], side: int
    ) -> tuple[str | None, float | None]:
        # A gap too small is cured by taking metal off either piece, one too great is not: those come last.
        offs = [(wanted - gaps[p[0]][p[1]], others[p[side]].name) for p in open_pairs if p not in barred]
        best = min(offs, key=lambda c: (c[0] < 0.0, abs(c[0]), c[1]), default=None)
        return (None, None) if best is None else (best[1], best[0])

    def needs(
        piece: Piece, low: float | None, mid: float, high: float | None
    ) -> tuple[float | None, float, float | None]:
        return (
            None if low is None else piece.size + low,
            piece.size + mid,
            None if high is None else piece.size + high,
        )

    up, down = (None if most is None else -most, -wanted, None if least is None else -least), (least, wanted, most)
    return Pairing(
        pairs,
        tuple(
            Left(firsts[i].name, *needs(firsts[i], *up), *nearest([(i, j) for j in sorted(left_columns)], seconds, 1))
            for i in sorted(left_rows)
        ),
        tuple(
            Left(seconds[j].name, *needs(seconds[j], *down), *nearest([(i, j) for i in sorted(left_rows)], firsts, 0))
            for j in sorted(left_columns)
        ),
        choice.total,
    )


def _barred(
    firsts: Sequence[Piece], seconds: Sequence[Piece], forbidden: AbstractSet[tuple[str, str]],
    weights: Mapping[str, float],
) -> set[tuple[int, int]]:  # fmt: skip
    """The forbidden pairs by number; refuses pairs and weights of pieces that are not there."""
    row, column = {p.name: k for k, p in enumerate(firsts)}, {p.name: k for k, p in enumerate(seconds)}
    barred = set()
    for hole, shaft in forbidden:
        if hole not in row or shaft not in column:
            raise Unknown("forbidden pair", got=f"{hole} with {shaft}", way_out="name a hole and a shaft of these")
        barred.add((row[hole], column[shaft]))
    for name in weights:
        if name not in row:
            raise Unknown("weighted hole", got=name, near=tuple(row)[:3])
    return barred


def assign(
    values: Matrix,
    least: Matrix | float,
    most: Matrix | float,
    target: Matrix | float | None = None,
    *,
    forbidden: AbstractSet[tuple[int, int]] = frozenset(),
    weights: Matrix | None = None,
    shape: tuple[int, int] | None = None,
) -> Choice:
    """Pair rows with columns where what pair (i, j) comes to is ``values[i][j]`` and must be ``least`` to ``most``.

    The general form of `pair`: limits, target and weights may differ from pair to pair (an axlebox in one horn has
    another window than in the next). All in one unit; infinite limits are none. ``target`` is the middle of the
    limits if not told and must be told where a limit is infinite. ``shape`` is needed only for matrices without rows
    or columns.
    """
    import numpy as np  # noqa: PLC0415  # keeps the import of this module light

    value = np.asarray(values, dtype=np.float64)
    if shape is not None:
        value = value.reshape(shape)
    if value.ndim != 2:
        raise OutOfRange("values of pairs", got=value.shape, allowed="a table of rows and columns")

    def table(thing: str, given: Matrix | float) -> Floats:
        array = np.asarray(given, dtype=np.float64)
        if array.ndim and array.size == value.size == 0:
            return value
        if array.ndim and array.shape != value.shape:
            raise OutOfRange(thing, got=array.shape, allowed=f"one number, or a table of {value.shape}")
        if np.isnan(array).any():
            raise OutOfRange(thing, got=math.nan, allowed="numbers")
        return np.broadcast_to(array, value.shape)

    low, high = table("least values", least), table("most values", most)
    if not np.isfinite(value).all():
        raise OutOfRange("values of pairs", got=float(value[~np.isfinite(value)][0]), allowed="finite numbers")
    if (low > high).any():
        raise OutOfRange("least value", got=float(low[low > high][0]), allowed="at most the greatest of the same pair")
    if target is None:
        if not (np.isfinite(low).all() and np.isfinite(high).all()):
            raise Refused("target", got=None, reason="a limit is missing, so there is no middle to aim at")
        goal = (low + high) / 2.0
    else:
        goal = table("targets", target)
    weight = np.ones_like(value) if weights is None else table("weights", weights)
    if not (np.isfinite(goal).all() and np.isfinite(weight).all() and (weight > 0.0).all()):
        raise OutOfRange("targets and weights", got="a table", allowed="finite targets; weights above 0")

    margin = np.minimum(value - low, high - value)
    possible = margin >= -_ROUNDING
    for i, j in forbidden:
        possible[i, j] = False
    cost = weight * (value - goal) ** 2
    best = _cheapest(possible, np.zeros_like(cost))
    if best:
        # The greatest margin that still lets as many pairs be made: bisect over those that occur.
        levels = np.unique(margin[possible])
        below, above = 0, levels.size  # possible with levels[below], not with levels[above]
        while above - below > 1:
            middle = (below + above) // 2
            if len(_cheapest(possible & (margin >= levels[middle]), np.zeros_like(cost))) == len(best):
                below = middle
            else:
                above = middle
        best = _cheapest(possible & (margin >= levels[below]), cost)
    return Choice(
        tuple(best),
        Total(
            len(best),
            min((float(margin[i, j]) for i, j in best), default=None),
            math.fsum(float(cost[i, j]) for i, j in best),
        ),
    )


_ROUNDING = 1e-9  # mm: a gap on the limit itself is within it, whatever the last digit of the subtraction


def _cheapest(possible: npt.NDArray[np.bool_], cost: Floats) -> list[tuple[int, int]]:
    """As many possible pairs as can be, at the least sum of cost."""
    import numpy as np  # noqa: PLC0415  # keeps the import of this module light
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415  # costs half a second

    if not possible.any():
        return []
    scale = float(cost[possible].max()) or 1.0
    never = min(possible.shape) + 1.0  # dearer than all possible pairs together
    rows, columns = linear_sum_assignment(np.where(possible, cost / scale, never))
    return [(int(i), int(j)) for i, j in zip(rows, columns, strict=True) if possible[i, j]]


def chance_within(gap: float, u: float, least: float | None, most: float | None) -> float:
    """Probability that the true gap is within the limits: normal about the one measured with sigma ``u`` (mm)."""
    if u == 0.0:
        return 1.0 if _margin(gap, least, most) >= -_ROUNDING else 0.0
    below = 0.0 if least is None else math.erfc((gap - least) / (u * math.sqrt(2.0))) / 2.0
    above = 0.0 if most is None else math.erfc((most - gap) / (u * math.sqrt(2.0))) / 2.0
    return max(0.0, 1.0 - below - above)


def _margin(gap: float, least: float | None, most: float | None) -> float:
    return min(math.inf if least is None else gap - least, math.inf if most is None else most - gap)


def _wanted(least: float | None, most: float | None, target: float | None) -> float:
    for thing, value in (("least gap", least), ("greatest gap", most), ("wanted gap", target)):
        if value is not None and not math.isfinite(value):
            raise OutOfRange(thing, got=value, allowed="finite numbers, mm; None for no limit")
    if least is not None and most is not None and least > most:
        raise OutOfRange("least gap", got=least, allowed=f"at most the greatest gap {most}")
    if target is not None:
        return target
    if least is None or most is None:
        raise Refused("wanted gap", got=None, reason="a limit is missing, so there is no middle to aim at")
    return (least + most) / 2.0


def _pieces(pieces: Sequence[tuple[str, float, float]], kind: str) -> list[Piece]:
    """Check the pieces and bring them into one order, so that ties do not hang on the order they were given in."""
    known = [Piece(*piece) for piece in pieces]
    names = [piece.name for piece in known]
    for name, size, u in known:
        if names.count(name) > 1:
            raise Refused(kind, got=name, reason="two pieces bear this mark", way_out="mark each piece")
        if not math.isfinite(size):
            raise OutOfRange(f"size of {name!r}", got=size, allowed="finite numbers, mm")
        if not (math.isfinite(u) and u >= 0.0):
            raise OutOfRange(f"uncertainty of {name!r}", got=u, allowed="finite, 0 or more, mm")
    return sorted(known)
