// Package circuit turns a sheet of readings into what they mean: saturation temperatures, superheat, subcooling, TD,
// condenser split and the like, each with its standard uncertainty, and what a healthy machine should show by the
// rule of thumb.
//
// Measured and simulated readings go through the same code. Superheat, TD and discharge superheat use the dew point,
// subcooling the bubble point; the condenser split is the dew point at the head pressure minus ambient. Uncertainties
// are carried linearly from the readings, so two quantities that share a gauge are correlated; [Analysis.Cov] tells
// how much.
//
// It makes no guess about causes. Findings are codes with arguments.
package circuit
