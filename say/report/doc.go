// Package report makes the document a customer and an inspector get after a visit: what was wrong, what was done,
// what is proven, what to do, with the proof before and after on one scale, the readings, the refrigerant moved and
// two signatures.
//
// Build turns the facts of a visit into a typed document; PDF prints it, pages show the same document. The same facts
// give the same bytes: the creation date is the visit's, fonts are embedded and subset. Nothing is computed here but
// counts, differences of what was weighed, and roundings.
//
// It does not decide about food, law or payment: those stay with the operator and the authorities, and the document
// says so. The customer's part speaks of pipes, cold, food and dates, never of superheat or saturation; the table of
// readings is for the next mechanic.
//
// References: layout ours. What a food record must let a stranger check (device, place, times, limit, disposition by
// the operator) follows the published food codes in outline.
package report
