// Package num holds the small numerical tools the physics stands on: the record of an iterative solve, bracketing
// root finding, dense linear solves and Chebyshev series in one and two variables.
//
// It knows nothing of refrigerants or machines. All functions are pure and safe for concurrent use. Series are evaluated by Clenshaw's
// recurrence without allocation.
//
// References: Brent (1973), Algorithms for Minimization without Derivatives, ch. 4; Clenshaw (1955), Math. Comp. 9:118-120;
// CODATA 2018 for the gas constant.
package num
