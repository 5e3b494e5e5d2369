// Package plant is the steady forward model of a vapour-compression machine: from design, box and outside temperature and changes (faults) to the
// readings a mechanic would take.
//
// The circuit is normalised to a design flow of 1 kg/s and sized in closed form from its design point. Unknowns are the evaporating dew
// temperature, the logarithm of the mass flow and the condensing dew temperature; where the charge decides, a fourth: the vapour share leaving the
// condenser (short of refrigerant) or the backed-up share of it (too much). Residuals are logarithms, which keeps Newton convergent from a bad
// start. Head-pressure control holds the condensing temperature at its set value while there is area to spare.
//
// Blends: dew at the coil outlet for superheat and TD, the mean between inlet and dew for heat transfer in the evaporator, the mean of dew and bubble
// in the condenser, bubble at its outlet. The composition is the same everywhere.
//
// Not modelled: start and defrost (steady state at the box temperature read), regulators and liquid-suction exchangers, hot-gas bypass, oil, several
// coils on one machine, uneven feeding. Transcritical operation is outside the fit and ends as a high-pressure trip.
//
// Units: K, Pa, kg/s per design kg/s, W per design kg/s (J/kg). Values are immutable and safe for concurrent use.
//
// References: Zivi (1964), J. Heat Transfer 86:247-252 (void fraction); effectiveness-NTU relations for a boiling or condensing stream (definition);
// clearance volumetric efficiency (definition). Exponents and conductance ratios are judgement, named where they stand.
package plant
