"""What holds two parts together: press and shrink fits, bonded, pinned and keyed joints, and what is asked of them.

Sizes in mm, forces in N, stresses and pressures in MPa (N/mm2), torques in N m, temperatures in degrees Celsius.
Nothing here works out a boiler or any part that holds steam: the boiler code and inspector that apply do that.
"""

from __future__ import annotations
