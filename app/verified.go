package app

import (
	"time"

	"coldwright/fail"
	"coldwright/record"
)

// Damage is something of a record that is not as it was written. What says what and where (its field) and what to do;
// Since is the earliest it can be from as far as that shows, the time of the event or of the last closing.
type Damage struct {
	What  *fail.Error
	Since time.Time
}

// Verified is what was found when a record was read from end to end: every event against its chain, every picture and
// file against its hash, the lists against the events, and the database against the program's.
type Verified struct {
	Events, Contents int
	Heads            []record.Head // by device
	First, Last      time.Time     // of the events, by their devices' clocks
	Held             []Held        // in quarantine
	Damage           []Damage
	Older            bool // of an older program, whose events are chained at the first start: nothing above was looked at
}

// Whole reports that nothing is damaged.
func (v *Verified) Whole() bool { return len(v.Damage) == 0 }
