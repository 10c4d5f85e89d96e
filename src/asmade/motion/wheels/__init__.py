"""Coupled wheels and rods: will they turn, with what slack, how surely, what is wrong, and what cures it.

Pure sums on plain frozen values; docs/wheels.md has the derivations. From the bottom up:

- ``layout`` (how the rods hang together), ``chassis`` (every dimension), ``geometry``, ``contacts``;
- three ways to the slack that agree: ``closed_form``, ``rings``, ``programme`` (with ``small_programme``), chosen by
  ``slack``; ``exact`` by true distances;
- ``spreads``, ``sensitivity``, ``chance``, ``findings``; ``cures``; ``trials`` and ``diagnosis``;
- ``measuring``, ``rise`` and ``curve`` stand alone.
"""

from __future__ import annotations
