"""One function per command: plain values in, a frozen result out, nothing printed."""

from __future__ import annotations
