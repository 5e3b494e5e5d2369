package diagnose

import (
	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
)

// Band is a 5 to 95 % interval with its middle; zero where the model says nothing.
type Band struct {
	Low, Mid, High float64
}

// Known is false where the model says nothing.
func (b Band) Known() bool { return b != Band{} }

// Item says how one reading speaks for or against a hypothesis.
type Item struct {
	At                 string // place, key of a thing seen, or [RoomLoad]
	Measured           float64
	Word               string // for things seen
	IfHealthy, IfThis  Band   // SI of the reading; for things seen the probability of what was seen (Mid)
	NatsAgainstHealthy float64
	NatsAgainstRunner  float64
}

// Severity of a fault: median with 5 and 95 %.
type Severity struct {
	Fault          fault.Code
	Low, Mid, High float64
	Unit           string
}

// Hypothesis is a cause (one fault or a pair) with its posterior.
type Hypothesis struct {
	Faults      []fault.Code // one or two, or healthy, or none_of_these
	Probability float64      // of exactly this
	Marginal    float64      // this fault alone or with another; for pairs the probability
	Severity    []Severity
	Evidence    []Item
	WorstSigma  float64 // largest residual of its best fit, in standard deviations
}

// Name is the stable code, pairs joined in alphabetical order.
func (h Hypothesis) Name() string {
	s := ""
	for i, f := range h.Faults {
		if i > 0 {
			s += "+"
		}
		s += f.String()
	}
	return s
}

// Show is what a suspect would show at a place.
type Show struct {
	Name        string
	Probability float64 // of the suspect now
	Band        Band    // SI; for things seen Mid is the probability of the word asked
}

// Next is a reading worth taking.
type Next struct {
	At      string // place, or key of a thing seen
	Bits    float64
	Minutes float64
	Changes float64 // chance that it puts another cause first
	Risk    string  // code, empty for none
	Why     string  // code
	Shows   []Show
	Answers []Answer
}

// Answer is a range of what the reading may show, and what it would then mean. Low and High in SI of the reading; for things seen Word.
type Answer struct {
	Low, High   float64
	Word        string
	Probability float64 // of such an answer
	First       string  // the cause that would then be first
	Sure        float64 // and its probability
}

// NextPair is two readings worth taking together: apart, neither tells as much per minute.
type NextPair struct {
	A, B    string
	Bits    float64
	Minutes float64
}

// Advice says whether to read on. Sure is the probability of the first answer, Changes the largest chance that one
// more reading puts another first.
//
// Prove is the instrument whose lie is the likeliest explanation of all such lies and likely enough to be proved
// before anything else is done; Unknown for none.
//
// Also is a second cause that may be there beside one that is certain; nil for none.
type Advice struct {
	Code          string
	Sure, Changes float64
	Prove         fault.Code
	Also          *Also
	LookAlike     *LookAlike // nil: some reading tells the first two causes apart, or there are no two
}

// LookAlike are two causes that no reading and no look tells apart at this visit.
type LookAlike struct{ A, B fault.Code }

// Also is a cause to check for after acting on the first: with the reading or look At, or by hand and eye where At is empty.
type Also struct {
	Fault       fault.Code
	Probability float64 // of it, alone or with another
	At          string  // place, or key of a thing seen, that decides whether it is there
	Bits        float64 // that At tells of whether it is there
}

// Missing is how much refrigerant is missing as a share of the full charge, were the machine short. With a receiver
// it is at least the reserve.
type Missing struct {
	Low, Mid, High float64
	Reserve        float64 // share of the full charge that is receiver reserve, 0 without one
	Probability    float64 // of being short at all
}

// Expectation is what a healthy machine would show today at a place.
type Expectation struct {
	At   reading.Place
	Band Band // SI; pressures in Pa
	Dew  Band // pressures as dew temperature, K
	Read bool
	Off  float64 // read minus middle, K (pressures as dew temperature); current and power as a share of full
	In   bool    // inside the band
	// AtLeast: what was read lies beyond what the refrigerant is known for, and Off is the least it can be.
	AtLeast bool
	// Basis is "history" after healthy visits, "plate" with TD or split stated, else "application".
	Basis string
}

// DerivedBand is what a healthy machine would show today as a derived quantity, by its key in [circuit]: superheat,
// subcooling, TD, split in K, and the compression ratio.
type DerivedBand struct {
	Key  string
	Band Band
}

// Posterior is the answer.
type Posterior struct {
	Ranked          []Hypothesis // by probability, healthy and none_of_these included
	Marginals       []Marginal   // by marginal, single faults only
	PHealthy, PNone float64
	LackOfFit       float64 // worst residual of the best hypothesis, standard deviations
	Next            []Next
	Together        *NextPair // two readings that tell more together; nil when the first of Next is the better start
	Advice          Advice
	Missing         *Missing // nil where shortage is no candidate
	Misfit          *Misfit  // nil where something fits, and where it was not asked for
	Expected        []Expectation
	Derived         []DerivedBand // of what Analysis derived
	Analysis        circuit.Analysis
	Used            []reading.Place    // whose readings the answer rests on
	Machines        []pulldown.Machine // what the readings, without the pull-down, say the machine may be; nil without a pull-down
	Pull            *pulldown.Message  // what it says, where it was weighed
	Assumed         []reading.Assumed
	Warnings        []reading.Finding
	Seed            uint64 // always 0: nothing is random
	Solves          int
}

// Marginal is the probability of a fault, alone or with another.
type Marginal struct {
	Fault       fault.Code
	Probability float64
}

// Warning codes of this package.
const (
	NoneFits          = "none_fits"
	FewReadings       = "few_readings"
	WouldTrip         = "healthy_would_trip"
	NoAmbient         = "ambient_not_read"
	NoBox             = "box_not_read"
	GradeLow          = "refrigerant_data_approximate"
	HumidityDisagrees = "humidity_disagrees"   // a wet bulb and a hygrometer in one air
	NotCompared       = "reading_not_compared" // current or power without anything to hold it against: it did not count
	// What nobody said of the machine and the answer hangs on.
	HeadControlNotSaid = "head_control_not_said"
	ReceiverNotSaid    = "receiver_not_said"
	ExpansionNotSaid   = "expansion_not_said"
)

// WarningCodes lists the codes this package adds to those of reading and circuit.
func WarningCodes() []string {
	return append([]string{
		NoneFits, FewReadings, WouldTrip, NoAmbient, NoBox, GradeLow, NotCompared, HumidityDisagrees,
		HeadControlNotSaid, ReceiverNotSaid, ExpansionNotSaid,
	}, SightCodes()...)
}

// Codes of Next.Why.
const (
	WhySeparates = "separates_the_first_two"
	WhyConfirms  = "confirms_or_clears_the_first"
	WhyInforms   = "tells_most_of_all"
)

// WhyCodes lists them.
func WhyCodes() []string { return []string{WhySeparates, WhyConfirms, WhyInforms} }

// Marginal returns the marginal probability of a fault.
func (p *Posterior) Marginal(c fault.Code) float64 {
	for _, m := range p.Marginals {
		if m.Fault == c {
			return m.Probability
		}
	}
	return 0
}
