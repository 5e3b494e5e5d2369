// Package units keeps absolute and gauge pressures, temperatures and temperature differences apart, and turns what a person writes into SI
// and back.
//
// It knows no physics. A gauge value becomes absolute only with the ambient pressure in hand. A bare number without
// unit is an error, except where the caller names the unit that stands printed beside a form field. Decimal point is
// "."; a comma is accepted as decimal sign where it cannot be a thousands separator (one comma, not followed by
// exactly three digits).
//
// Conversion factors: NIST SP 811 (2008), appendix B, exact by definition where not said otherwise. US Standard
// Atmosphere 1976 for altitude.
package units
