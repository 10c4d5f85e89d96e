"""The choice of sizes as one discrete optimisation, on plain values that know nothing of the book.

* `problem` says what is asked and what is answered (light: imports nothing heavy);
* `solver.solve` answers it: proven, best found, or the conflict that stands in the way;
* `alternatives.alternatives` says what every other candidate of one variable would cost.

A *variable* is one size to be decided, a *window* a sum of sizes that must stay between two limits, a *group* sizes
that must be alike. *Proven* means: no better set of the listed candidates under the stated weights.
"""

from __future__ import annotations
