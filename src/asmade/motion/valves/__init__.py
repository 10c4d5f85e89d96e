"""Valve events and what to do about them: pure sums on the gear, the valve and the ports of each side."""
