"""From what a drawing says to the thread it means."""

from __future__ import annotations

from asmade.measure.threads import ThreadCallout, read_thread
from asmade.standards.threads.catalogue import INCH, find
from asmade.standards.threads.sizes import Thread


def thread(callout: ThreadCallout | str) -> Thread:
    """Return the thread that a callout (or its text) names, with all its sizes.

    ``2 BA``, ``1/4 BSW``, ``1/4 BSF``, ``7/32 x 40``, ``1/4 BSB``, ``1/8 BSP``, ``M5``, ``M5 x 0.5``, ``1/4 UNC``,
    ``#4-40 UNC``. A size without a pitch takes the pitch of its series (coarse for M).

    Units: mm. A text that is no callout raises ``Refused``, a thread that is not there ``Unknown`` with what there is.

    Source: BS 93, BS 84, ISO 228-1, ISO 261 and 724, ASME B1.1; the answer names its own.
    Range: BA 0 to 25; BSW 1/16 to 6 in; BSF 3/16 to 4 1/4 in; ME and BSB any diameter on 26, 32, 40 and 26
    threads per inch; BSP 1/16 to 6; M 1 to 120 mm and any other diameter with a stated pitch of ISO 261; UNC #1 to 4
    in, UNF #0 to 1 1/2 in, UNEF #12 to 1 11/16 in.
    Anchor: 2 BA pitch 0.81, major 4.7, effective 4.215, core 3.73 mm (BS 93); M6 effective 5.350 mm (ISO 724).
    """
    called = read_thread(callout) if isinstance(callout, str) else callout
    if called.series == "BA":
        return find("BA", called.size)
    if called.series in ("M", "MF") and called.nominal_mm is not None:
        return find("M", called.nominal_mm, called.pitch_mm)
    pitch = None if called.tpi is None else INCH / called.tpi
    return find(called.series, called.size, pitch)
