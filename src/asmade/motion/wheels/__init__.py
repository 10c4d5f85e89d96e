"""Coupled wheels and rods: will they turn, with what slack, how surely, what is wrong, and what cures it.

Pure sums on plain frozen values; docs/wheels.md has the derivations. From the bottom up: ``layout`` (how the rods
hang together), ``chassis`` (every dimension), ``geometry``, ``contacts``; three ways to the slack that agree, ``closed_form``,
``rings`` and ``programme`` (with ``small_programme`` and ``exact``), chosen by ``slack``; ``spreads``, ``sensitivity``,
``chance`` and ``findings``; ``cures``; ``trials`` and ``diagnosis``; ``measuring``, ``rise`` and ``curve`` stand alone.
"""

from __future__ import annotations
