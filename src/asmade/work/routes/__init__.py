"""Routes: from the form of a part, its sizes and this shop, the operations in the trade's order.

`plan` gives the route of a piece; each form has its scheme in ``routes/schemes`` (found by name), each feature its
recipe in ``asmade.work.recipes``.
"""

from __future__ import annotations

from asmade.work.routes.edits import Edit, edits_of
from asmade.work.routes.planner import Route, RoutePlanner, plan

__all__ = ["Edit", "Route", "RoutePlanner", "edits_of", "plan"]
