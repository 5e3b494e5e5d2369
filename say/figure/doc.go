// Package figure draws what a mechanic or a customer looks at: the ladder of temperatures, the machine's circuit with
// its readings, what the next reading would show, the pull-down curve, the proof before and after, the cycle on the
// pressure–enthalpy diagram. Each takes plain values in SI with the display a person chose, and returns a scene of
// package plot; each offers the same numbers as a text table.
//
// Everything is a distance to where the machine should stand today. What was read is solid, what is healthy is
// hatched; a distance is a dimension line with a number and a word. Degrees are counted to the middle of the band and
// only outside it.
//
// It computes nothing but positions and the distances it prints. Bands, forecasts and probabilities are handed in.
//
// References: symbols of the circuit after ISO 14617 and EN 1861, drawn from memory, simplified. Geometry: ours.
package figure
