// Package air computes moist air: humidity ratio, enthalpy and density from the relative humidity.
//
// Conventions: SI; p is the absolute pressure of the mixture, Pa; W is kg of water per kg of dry air; enthalpy is J
// per kg of dry air, zero for dry air at 0 °C and for liquid water at 0 °C; density is kg of moist air per m³. Below
// the triple point saturation is over ice, so relative humidity there is over ice.
//
// Assumes ideal gases (no enhancement factor): W comes out up to 0.6 % lower than in real air at sea level, enthalpy
// up to 0.3 kJ/kg at 30 °C. It knows no fog, no droplets and no pressure other than the one handed in;
// units.Atmosphere gives that of a site's altitude.
//
// References: ASHRAE Handbook Fundamentals (2017), chapter 1 (relations); package water (saturation).
package air
