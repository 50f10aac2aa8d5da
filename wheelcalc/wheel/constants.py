"""Constants of nature and of standards, each with its source.

Labels: P published, D derived independently, C common practice of the trade, M from memory of the cited source.
"""

from __future__ import annotations

# C of P values: data sheets of 304 stainless give 193 to 200 GPa; the upper end, as the trade's own stretch tables use.
SPOKE_STEEL_MODULUS = 200_000.0  # N/mm2

# P: exact, international yard and pound agreement of 1959.
INCH = 25.4  # mm
# P (M): BSA/BSC cycle thread, 56 threads per inch.
SPOKE_THREAD_PITCH = INCH / 56  # mm per turn

# P: 3rd CGPM (1901), standard acceleration of gravity 9.80665 m/s2: one kilogram-force.
NEWTON_PER_KGF = 9.80665

# D: two-sided share of a normal distribution, 19 times in 20 (scipy.stats.norm.ppf(0.975)).
NINETEEN_IN_TWENTY = 1.959964
