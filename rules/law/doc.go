// Package law holds the rules on leaks, recovery, records and warming potential as dated data, and computes the
// clocks they start for one machine.
//
// The rules are JSON files, one per instrument, each rule with article, edition, the days from and to which it holds,
// and how far it can be trusted: "read" in the text named, "second hand" from a restatement, "from memory". What a
// rule asks (its kind) is code; every number is data. A rule that is not yet in force is reported as not applicable
// yet, with its day; a rule that has ended is left out.
//
// Covered: 40 CFR part 82 subpart F, 40 CFR part 84 subpart C, Regulation (EU) 2024/573, and Regulation (EU) 517/2014
// as retained in Great Britain. Not covered: states and cities, rules on placing new equipment on the market,
// transport, vehicles. It is no legal advice; the local authority decides.
//
// Conventions: days are calendar days of the site; the day a clock starts is not counted; on the due day itself a
// duty is still open. No clock is lengthened for a weekend or holiday: PlanBy is the last weekday up to the due day.
// Months keep the day of the month, or end on the month's last day. "At least" limits hold at equality; a leak rate
// triggers only over its limit. Thresholds printed in pounds are compared with half a gram of grace, since weights
// are kept in whole grams.
//
// Assumptions: a repair and the initial verification test may stand up to 30 days before the addition that starts the
// clock, but not before the addition before that one, since an opened circuit is tested before it is charged. A
// machine with an open case (no passed follow-up test) starts no second case.
//
// References: beside each rule in data/.
package law
