// Package ledger keeps refrigerant by weight: what was bought, charged, recovered, lost, sent away, by cylinder and machine.
//
// It is double entry: every entry takes grams from one account and gives the same grams to another, so that nothing
// appears and nothing disappears. What comes from outside comes out of the supplier's account, which is therefore
// negative; all balances of a refrigerant add up to zero, always. A cylinder that is weighed at more or less than the
// book says gets the difference as an entry of its own, from or to the account of differences. A correction is a new
// entry that names the old one and stands in its place. Entries are a set by id: the order in which two devices'
// entries arrive does not matter. Of several corrections that compete for one place, the last by (at, device, seq,
// id) holds and the contest is reported.
//
// From it follow balances, totals by refrigerant, month books of a site with CO₂ equivalents by GWP edition, and the
// leak rate by both formulas of 40 CFR 82.152.
//
// It does not decide what the law asks (package law), reads no clock and no file. Conventions: ledger masses are
// whole grams; a rate is a share of the full charge per year, so 0.2 is 20 %; dates are calendar days of the site
// without a zone.
//
// References: 40 CFR 82.152 (leak rate), read in a public copy of the code on 2026-11-25. Months that lack the day of
// the month end on their last day, as in Regulation (EEC, Euratom) 1182/71 article 3(2)(c), from memory.
package ledger
