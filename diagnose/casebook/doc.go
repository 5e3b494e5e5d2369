// Package casebook holds cases whose truth is known: machines simulated with a cause in them, visits to them read as a
// mechanic would read them, and what the answers of a judgement to many such visits are worth.
//
// A [World] draws visits: a machine of a [Kind], its design spread as its [Population] says, and on top, by its [Law],
// what the diagnosis does not know. Populations have numbers of their own, so that no change to what the diagnosis
// assumes changes whom it is examined on; [States] are machines of another model altogether. A [View] is what of a visit
// the diagnosis gets to see. [Judge] answers, [Rate], [RatePairs] and [RateInstrument] score. Nothing here is field data:
// the scores say what readings can tell if machines behave like the model.
//
// Everything follows from a seed: each visit has its own generator, so that a larger count begins with the visits of a
// smaller one, and worlds of the same kind share machines, weather and noise.
package casebook
