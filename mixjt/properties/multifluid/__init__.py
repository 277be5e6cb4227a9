"""Multi-fluid Helmholtz energy of blends in compiled kernels, with the coefficients that CoolProp holds.

Form: Kunz and Wagner, J. Chem. Eng. Data 57 (2012) 3032, doi:10.1021/je300655b:

    alpha_r(delta, tau, x) = sum x_i alpha_i(delta, tau) + sum_{i<j} x_i x_j F_ij alpha_ij(delta, tau),

delta = rho / rho_r(x), tau = T_r(x) / T. Kernels see the gases present only, every fraction positive.
"""
