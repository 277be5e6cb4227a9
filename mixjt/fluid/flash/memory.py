"""The records that kernels work on, as NumPy structured types.

Gases are numbered 0 to n - 1 (those present), pairs i < j in one flat list. Terms are plain or
general. Plain ones come first as the shared basis of many gases, which differ in their coefficients only, then as the
departure functions; general ones belong to one gas, or one function, that needs more kinds of factors. ln phi, enthalpies and Gibbs energies are residuals over RT.
"""

from __future__ import annotations

import numpy as np

MAX_GASES = 20
MAX_PAIRS = MAX_GASES * (MAX_GASES - 1) // 2
SHARED = 44  # terms of the shared basis
GENERAL, GENERAL_GROUPS = 240, 16
FUNCTIONS, WINDOW = 24, 12  # plain departure functions, and the most terms one of them has
ALL_FUNCTIONS = FUNCTIONS + GENERAL_GROUPS + 1  # the last place stands for no function
MAX_PHASES = 5  # below 90 K the equations part liquids of alkanes into more than nature does
SLOTS = MAX_PHASES + 1  # the last one belongs to the stability trials
TRIALS = MAX_GASES + 4
UNKNOWNS = MAX_PHASES * (MAX_GASES + 1)
REDUCED = (MAX_PHASES - 1) * MAX_GASES
HELD = 3  # points that the predictor looks back on

F, I = np.float64, np.int64

BLEND_TYPE = np.dtype(
    [
        ("gases", I), ("pairs", I), ("shared", I), ("functions", I), ("all_functions", I), ("general", I),
        ("general_gases", I), ("general_groups", I), ("R", F), ("lowest_temperature", F),
        # shared: exp(t ln tau + d ln delta + c1 delta + c2 delta^2 + c3 delta^3 + c6 delta^6)
        ("t", F, SHARED), ("d", F, SHARED), ("c1", F, SHARED), ("c2", F, SHARED), ("c3", F, SHARED), ("c6", F, SHARED),
        ("tt", F, SHARED), ("coefficient", F, (MAX_GASES, SHARED)),
        # departure functions: n exp(t ln tau + d ln delta + c1 delta + c2 delta^2)
        ("function_n", F, (FUNCTIONS, WINDOW)), ("function_t", F, (FUNCTIONS, WINDOW)),
        ("function_d", F, (FUNCTIONS, WINDOW)), ("function_c1", F, (FUNCTIONS, WINDOW)),
        ("function_c2", F, (FUNCTIONS, WINDOW)),
        # general: n tau^t delta^d exp(c1 delta + ... + c6 delta^6 - eta (delta - epsilon)^2 - beta (tau - gamma)^2)
        ("gn", F, GENERAL), ("gt", F, GENERAL), ("gd", F, GENERAL), ("g1", F, GENERAL), ("g2", F, GENERAL),
        ("g3", F, GENERAL), ("g4", F, GENERAL), ("g5", F, GENERAL), ("g6", F, GENERAL),
        ("eta", F, GENERAL), ("epsilon", F, GENERAL), ("beta", F, GENERAL), ("gamma", F, GENERAL),
        ("start", I, GENERAL_GROUPS + 1), ("owner", I, GENERAL_GROUPS),  # gases first, then functions
        ("critical_volume", F, MAX_GASES), ("critical_temperature", F, MAX_GASES), ("wilson", F, (2, MAX_GASES)),
        ("first", I, MAX_PAIRS), ("second", I, MAX_PAIRS), ("function", I, MAX_PAIRS), ("weight", F, MAX_PAIRS),
        ("volume_factor", F, MAX_PAIRS), ("volume_square", F, MAX_PAIRS),
        ("temperature_factor", F, MAX_PAIRS), ("temperature_square", F, MAX_PAIRS),
    ],
    align=True,
)  # fmt: skip

PHASE_TYPE = np.dtype(
    [
        ("x", F, MAX_GASES), ("T", F), ("lr", F), ("delta", F), ("tau", F), ("reducing_volume", F),
        ("reducing_temperature", F), ("m", F), ("stiffness", F), ("h", F), ("expansion", F), ("cp", F),
        ("ln_phi", F, MAX_GASES), ("v", F, MAX_GASES), ("hi", F, MAX_GASES), ("M", F, (MAX_GASES, MAX_GASES)),
        # sums over terms and their parts
        ("A0", F), ("AD", F), ("AT", F), ("ADD", F), ("ADT", F), ("ATT", F),
        ("term", F, SHARED), ("term_d", F, SHARED), ("term_t", F, SHARED), ("folded", F, SHARED),
        ("w0", F, GENERAL), ("w1", F, GENERAL), ("w2", F, GENERAL), ("w3", F, GENERAL), ("w4", F, GENERAL),
        ("w5", F, GENERAL), ("g0", F, MAX_GASES), ("g1", F, MAX_GASES), ("g2", F, MAX_GASES),
        ("f0", F, ALL_FUNCTIONS), ("f1", F, ALL_FUNCTIONS), ("f2", F, ALL_FUNCTIONS), ("fw", F, ALL_FUNCTIONS),
        ("by_v", F, MAX_GASES), ("by_t", F, MAX_GASES), ("D", F, MAX_GASES), ("E", F, MAX_GASES),
        ("dd", F, MAX_GASES), ("dt", F, MAX_GASES), ("ra", F, MAX_GASES),
        ("xa", F, MAX_PAIRS), ("xb", F, MAX_PAIRS), ("va", F, MAX_PAIRS), ("vb", F, MAX_PAIRS),
        ("vi", F, MAX_PAIRS), ("ta", F, MAX_PAIRS), ("tb", F, MAX_PAIRS), ("ti", F, MAX_PAIRS),
        ("aa", F, MAX_PAIRS), ("ab", F, MAX_PAIRS), ("bb", F, MAX_PAIRS),
    ],
    align=True,
)  # fmt: skip

WORK_TYPE = np.dtype(
    [
        ("phase", PHASE_TYPE, SLOTS), ("z", F, MAX_GASES), ("count", I), ("tolerance", F),
        # phases of the present state: amounts of each gas, ln densities, total amounts
        ("amount", F, (MAX_PHASES, MAX_GASES)), ("lr", F, SLOTS), ("total", F, MAX_PHASES),
        ("h", F), ("g", F), ("cp", F),
        # Newton's method
        ("u", F, MAX_GASES), ("scale", F, MAX_GASES), ("step", F, MAX_GASES), ("H", F, (MAX_GASES, MAX_GASES)),
        ("slope_u", F, MAX_GASES), ("slope_lr", F, SLOTS),
        ("reference", I, MAX_GASES), ("place", I, (MAX_PHASES, MAX_GASES)), ("G", F, (REDUCED, REDUCED)),
        ("unknown", F, REDUCED), ("direction", F, REDUCED), ("move", F, (MAX_PHASES, MAX_GASES)),
        ("try_amount", F, (MAX_PHASES, MAX_GASES)), ("try_lr", F, SLOTS),
        ("B", F, (MAX_PHASES, MAX_PHASES)), ("b", F, MAX_PHASES), ("old_b", F, MAX_PHASES), ("old_delta", F, MAX_PHASES), ("ln_f", F, (MAX_PHASES, MAX_GASES)), ("old_ln_phi", F, (MAX_PHASES, MAX_GASES)),
        ("known_amount", F, (MAX_PHASES, MAX_GASES)), ("known_lr", F, SLOTS),
        # stability
        ("d", F, MAX_GASES), ("ln_w", F, MAX_GASES), ("w", F, MAX_GASES), ("gradient", F, MAX_GASES),
        ("trial_step", F, MAX_GASES), ("best", F, MAX_GASES), ("best_lr", F), ("hints", I), ("told", I), ("told_tm", F), ("wary", I), ("correction", F, MAX_GASES), ("hint", F, (MAX_PHASES, MAX_GASES)), ("hint_lr", F, SLOTS), ("stationary", I), ("doubt", I),
        ("kept", I, TRIALS), ("kept_w", F, (TRIALS, MAX_GASES)), ("kept_lr", F, TRIALS),
        # predictor along a sweep, and the last state that was verified
        ("held", I), ("held_T", F, HELD), ("held_value", F, (HELD, UNKNOWNS)), ("held_slope", F, (HELD, UNKNOWNS)),
        # derivatives with respect to amounts, where graded is 1
        ("graded", I), ("by_amount", F, (4, MAX_GASES)), ("partial", F, (MAX_PHASES, MAX_GASES)), ("shift", F, MAX_GASES),
        ("safe_count", I), ("safe_amount", F, (MAX_PHASES, MAX_GASES)), ("safe_lr", F, SLOTS), ("missing", I),
        ("evaluations", I), ("tests", I),
    ],
    align=True,
)  # fmt: skip
