package threshold

// Words of a probability, by the whole figure in a hundred that people are shown: each limit is half a hundredth below
// the figure, so that a word and the figure beside it never disagree. Where a limit is not explained by itself it is
// judgement, ours: the steps are those of common calibrated word scales.
const (
	// Certain: shown as 95 in 100 or more, "almost certain", and acted on. Judgement, ours: of twenty such statements
	// one may be wrong, as for the 5 to 95 % intervals everywhere else.
	Certain = 0.945
	// Likely: shown as 70 or more. Judgement, ours: two to one with something to spare. A machine this probably healthy
	// is called healthy.
	Likely = 0.695
	// Even: shown as 40 or more. With EvenRatio it is one half of "about even": 40 to 60 is 1.5 to 1.
	Even = 0.395
	// Leaning: shown as more than 60, so more than EvenRatio to one for it; below Likely "more likely than not".
	Leaning = 0.605
	// Possible: shown as 15 or more. Judgement, ours: too much to leave out of a sentence about the machine.
	Possible = 0.145
	// Unlikely: shown as 5 or more; what is less is not put into sentences. Judgement, ours: the tail that a 5 to 95 %
	// interval leaves out on one side.
	Unlikely = 0.045
	// RuledOut: shown as "under 1". Judgement, ours: below it the shares say more about the base rates than about the
	// machine.
	RuledOut = 0.01
	// SureOther: shown as "over 99", the mirror of RuledOut: no figure says 100.
	SureOther = 1 - RuledOut
)

// EvenRatio is how many times as probable the first of two causes may be as the second for the two to count as about
// even. Judgement, ours: 60 to 40 changes nobody's next step, 67 to 33 does.
const EvenRatio = 1.5

// Does a judgement fit the machine?
const (
	// FarOff is the residual of the best explanation, standard deviations, from which a reading does not fit. A normal
	// residual is so far off once in two thousand readings, so about once in two hundred sheets of ten. Judgement, ours.
	FarOff = 3.5
	// NoneFits is the probability of "none of these" from which, when it is the first of all answers, no cause is
	// named. The same as Even: what is about even with everything else together. Judgement, ours.
	NoneFits = Even
)

// NoneIsFirst reports whether none of these is the first of all answers, so that no cause is named.
func NoneIsFirst(pNone, pHealthy, first float64) bool {
	return pNone >= NoneFits && pNone >= first && pNone >= pHealthy
}

// Which reading does not belong where nothing fits?
const (
	// RestFits is the probability of "none of these" up to which what is left, without a reading, counts as explained. The
	// same as Possible: more is too much to leave out of a sentence.
	RestFits = Possible
	// OddTimes is how many times the odds of the reading named must be those of the next one: twenty to one, as for Strong
	// and Certain, for it is said that this one cannot belong. With less both are named.
	OddTimes = 20
)

// OddAhead reports whether the reading without which none of these has the probability best is clearly likelier to be
// the odd one than the reading without which it has other.
func OddAhead(best, other float64) bool { return (1-best)*other > OddTimes*(1-other)*best }

// What to do next.
const (
	// ActFrom is the probability of the first answer from which acting before it is certain is worth considering: four to
	// one. Judgement, ours.
	ActFrom = 0.8
	// RarelyChanges is the chance that a reading puts another cause first below which it is not worth taking: about one
	// in sixteen. Judgement, ours.
	RarelyChanges = 0.06
	// TellsNothing is the information of a reading, bits, below which it tells nothing: less than a coin of 62 to 38
	// says (1 − H(0.62) = 0.042 bits). Judgement, ours.
	TellsNothing = 0.04
	// ListedFrom is the information, bits, from which a further reading is listed at all: what is less is noise of the
	// quadrature. Judgement, ours.
	ListedFrom = 0.01
	// FarLess is the share of the best reading's information below which the second best "tells far less". Judgement,
	// ours.
	FarLess = 0.4
	// Doubted is the probability of a lying instrument from which it is proved before anything else is done. Judgement,
	// ours: proving it costs a minute, acting on it costs a part.
	Doubted = 0.15
	// Beside is the probability from which a second cause is checked for beside a certain one: one in four. Judgement,
	// ours.
	Beside = 0.25
	// Decides is the share of what is unknown about that second cause that a reading must be expected to clear to be
	// asked for. Judgement, ours: with less, hands and eyes are quicker.
	Decides = 0.2
	// Together is how much more per minute two readings must tell than the best one for both to be asked for at once:
	// afterwards the second may not be needed. Judgement, ours.
	Together = 1.05
)

// How strongly a reading speaks, nats: the logarithm of how many times as well one explanation foretells it as another.
const (
	Strong = 3.0 // twenty to one
	Clear  = 1.2 // three to one
	Slight = 0.4 // EvenRatio to one: less is even
)

// What a page shows of a list of causes. Judgement, ours: what fits a phone and what nobody would act on.
const (
	SuspectsShown = 5        // on a phone the list still ends above the fold of the evidence
	SeverityFrom  = Unlikely // how bad it is, is said of a cause that is not very unlikely
	NoneShownFrom = Unlikely
	RuledOutShown = 2 // of causes ruled out so many are still named: people want to see what was excluded
)

// Proof and cold.
const (
	// AtSetPoint is what a box may stand above its set point and count as held, K: a control's own swing of 2 °F.
	// Common practice, no source.
	AtSetPoint = 1.1
	// LeakLikely is the probability of a leak, in a vacuum test or between visits, from which its size is said: more
	// likely than not.
	LeakLikely = 0.5
	// TightPerYear is the share of the full charge that may leave in a year through the smallest leak a test could have seen
	// for "tight" to be said; else no leak was seen, and what would not show is said. Judgement, ours: 10 % a year is the
	// lowest leak rate from which a clock runs (40 CFR 82.157(c)(2), comfort cooling), so a test blind to it proves nothing
	// that matters.
	TightPerYear = 0.1
	// RiseSure is the probability from which a vacuum test says that there is a leak, or moisture, and the complement of
	// which says that there is none. Judgement, ours: as Certain, but of the number itself, for a test gives no figure in
	// a hundred beside its word.
	RiseSure = 0.95
	// RiseOpen is the probability of the one, where the other is sure, below which it is left open in a finding; from
	// there on the test is undecided. The same as LeakLikely.
	RiseOpen = LeakLikely
	// RoomTooMuch is the room's load as a share of what a sound machine carries from which it is called too much: the
	// step it is shown in, 5 %.
	RoomTooMuch = 1.05
)

// A pull-down. Common practice, no source: a healthy box falls steadily, a starved one flattens out above the set point.
const (
	// PullHolds is the probability of the set point within six hours from which a box falls well: "likely". With less, of
	// boxes that flatten out above their set point more than one in twenty were said to fall well (package proof/pulldown).
	PullHolds = Likely
	// PullMisses is the probability of falling well under which a box falls too slowly; from there on, where it is not said
	// to fall well, that is not decided. What is less than about even. Judgement, ours: not the mirror of PullHolds, since
	// "too slowly" said too soon costs a look at the suspects, said too late a warm box.
	PullMisses = Even
	// PullTells is how far apart, in standard deviations of a reading, what falls well and what does not must stand for
	// one reading to be named as the one that decides: an even chance then moves to PullHolds in the mean,
	// d²/2 = ln(0.695/0.305) = 0.82 (the logarithm of its odds).
	PullTells = 1.28
	// PullNextHour is the share of the way to the set point that the next hour must cover beside it. Judgement, ours: a
	// box that needs more than about three such hours gets there tomorrow.
	PullNextHour = 0.35
	// PullShortWay is that share of a short way. Judgement, ours: a box that near has no hours left to need.
	PullShortWay = 0.75
	// PullShort is what counts as short, K, of the part to be covered. Judgement, ours: what a degree of rounding hides.
	PullShort = 0.83
	// PullFlat is the fall in the next hour and, an hour, over the last stretch, K, under which a box has stopped falling.
	// Judgement, ours: as PullShort.
	PullFlat = 0.83
	// PullWarmer is the rise an hour, K, from which a box gets warmer. Judgement, ours: more than rounding makes of a flat box.
	PullWarmer = 1.1
)

// PullDay is how many minutes ahead the time to a set point is reckoned at most: what is no sooner is not foretold. A day.
const PullDay = 1440

// PullInSight is the likely time to a set point, minutes, from which no time is said: ten hours off, it says more of what
// was believed before than of the readings. Judgement, ours.
const PullInSight = 600

// PullPoints is how many points of a pull-down show a direction: through two of them any line goes.
const PullPoints = 3

// ShownOff is how far from the middle of its band, in degrees as they are shown, a reading outside the band must stand
// to be called under or over: what rounds to no degree is never "0 over". Judgement, ours.
const ShownOff = 0.5

// CutOutT is the condensing temperature, K, from which head stands where the high-pressure switch usually stops a machine
// or close below: 63 °C, the design temperature of the high side of air-cooled machines for air of 43 °C in EN 378-2
// (from memory). A refrigerant whose properties end earlier has that end instead.
const CutOutT = 336.15

// EnoughToJudge is how many running readings a judgement needs: with one nothing stands against anything.
const EnoughToJudge = 2

// A typed temperature that is far from the last one at its place is asked about before it is kept.
const (
	// Jump is that distance, K (10 °F): what a wrong digit or a forgotten minus makes, and a box seldom does between two
	// looks. Judgement, ours: asking costs a tap, a wrong reading the visit.
	Jump = 10 / 1.8
	// JumpWithin is how long a pull-down's last reading is held against the next one, min: small boxes fall by Jump in
	// a quarter of an hour. Judgement, ours.
	JumpWithin = 15.0
)

// Jumps reports whether a difference of temperatures, K, is more than [Jump], shown digits apart.
func Jumps(by float64) bool { return by > Jump+0.05 || by < -Jump-0.05 }
