// Package checks finds out why a machine stands still, trips, cycles short, ices up or is wet: from what is complained of
// and what was looked at, the causes with their probabilities, and the look that brings the proof soonest.
//
// A network of complaints, causes and checks is data, see network.json: how often a complaint has a cause, what a check
// shows under it, how long it takes, what has to be opened for it once, what must be proven before it. Belief is exact for
// one cause and for two at once; the order is by expected minutes to a proven cause. What gauges and thermometers of a
// running machine tell comes in as odds of the circuit's causes, and every look counts once.
package checks
