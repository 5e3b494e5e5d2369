// Package leak says where on a machine to look for the leak next, with what, and when looking is in vain.
//
// The catalogue is data: kinds of places with their chance before anything is seen, ways of searching with the
// smallest leak each can see, safeguards at the repair. Every row says what it rests on; chances by place are
// judgement on published ranks, since no survey of small machines was found that counts leaks by place.
//
// The posterior runs over place, leak size and whether the spot can be reached at all; a look that finds nothing
// lowers what it could have found. The next place is the one with the most chance per minute (Blackwell's rule), over
// runs of places that share one walk and one change of tool. A leak's size is its loss in g/year at running pressure;
// what it passes at the pressure standing now follows from the flow through the same hole.
//
// Assumptions: one leak at a time; vapour at the leak (a liquid leak loses more and is easier to see); looks are
// independent once size and reach are given, but for a look repeated in the same conditions, which mostly shows the
// same again. Chances of detection by hand-held
// probes are judgement.
//
// It knows no sentences, no clock and no events.
//
// References: Stone (1975), Theory of Optimal Search; Chew (1967), Ann. Math. Statist. 38:494-502, which states
// Blackwell's rule; package gasflow (viscosity and flow of gases). Further sources stand in catalogue.json.
package leak
