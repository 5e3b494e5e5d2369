// Package record is what happened, as events, and what follows from them: sites, machines, visits.
//
// Everything a person does is an event; events are only appended. A correction is a new event that names the old one.
// Merging two devices is the union of their events by id; order is (at, device, seq). Unknown kinds and newer
// versions are kept and passed on, never dropped. Events hold inputs only (what was read, chosen, signed), in SI
// beside the text as typed; computed numbers are computed again, with the program version kept beside any that were
// shown to a customer or signed.
//
// It knows no SQL, no clock and no randomness.
package record
