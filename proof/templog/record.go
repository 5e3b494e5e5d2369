package templog

import (
	"container/heap"
	"errors"
	"slices"
	"time"

	"coldwright/fail"
	"coldwright/units"
)

// Bracket holds a moment between two readings: it lies after After and not after Before. Zero: the record does not reach it.
type Bracket struct{ After, Before time.Time }

// Excursion is a stretch of readings above the limit.
type Excursion struct {
	Start, End Bracket // by the readings as they stand
	// The same with the logger's tolerance: after the last reading that was surely within, before the first that was
	// surely above; the end likewise. Zero where no reading was sure.
	WideStart, WideEnd Bracket
	Low, High          float64 // minutes: between the first and the last reading above; between the readings within on both sides
	Gap                float64 // minutes of it without readings
	Peak               units.Temp
	PeakAt             time.Time
	Sure               bool // a reading stands above the limit by more than the tolerance
	Defrost            bool // it is a recognised defrost
	FromStart, ToEnd   bool // the record begins or ends inside it
}

// Defrosts are humps that come back at equal times.
type Defrosts struct {
	Count     int
	Every     float64 // minutes from one to the next
	Minutes   float64 // mean length
	Rise      units.TempDiff
	Humps     int // short humps in all, defrosts included
	FirstSeen time.Time
	LastSeen  time.Time
}

// FoodDecision is who decides about the food. It is the same in every answer.
const FoodDecision = "operator_and_authority"

// Evidence that a record of temperatures must bring and that no logger's file holds by itself; the codes have words in package text.
const (
	NeedDevice       = "device_identity"
	NeedAccuracy     = "device_accuracy"
	NeedVerification = "device_last_verification"
	NeedPlace        = "sensor_place"
	NeedOffset       = "time_offset"
	NeedFood         = "food_disposition"
	NeedRepair       = "repair_and_pull_down"
	NeedSigned       = "who_signed"
)

// Record is the answer.
type Record struct {
	Mapping     Mapping
	Channel     string // air or product: what the excursions were read from
	Rows        int
	First, Last time.Time
	Zone        *time.Location // of the times as written; nil: UTC
	Floating    bool           // the file's times have no offset and no zone was named: they are as its clock showed them
	Every       float64        // minutes, the usual step
	Min, Max    units.Temp
	Mean        units.Temp
	GapMinutes  float64

	Limit      units.Temp
	Rule       *FoodLimit // nil where the limit was only a number
	Tolerance  units.TempDiff
	Excursions []Excursion // in order of time; at most maxExcursions
	Count      int         // all of them
	Longest    *Excursion
	AboveLow   float64 // minutes above the limit in all, over all excursions
	AboveHigh  float64

	ProductLogged  bool
	ProductMinutes Interval // 5, 50, 95 %: product above the limit
	ProductPeak    Interval // K
	Defrosts       Defrosts
	Notes          []Note
	Needs          []string
	Trace          []Trace // the readings, thinned for a figure: at most 600 stretches
}

// Interval is 5, 50, 95 %.
type Interval struct{ Low, Mid, High float64 }

// Trace is a stretch of readings: when it begins, the coldest and the warmest of them.
type Trace struct {
	At        time.Time
	Low, High units.Temp
	Gap       bool // readings are missing before it or within it
}

const (
	maxExcursions = 2000
	maxTrace      = 300
	maxUnsorted   = 20_000_000 // rows that may stand out of order all over the file
	maxHumps      = 20000
	window        = 512 // rows that may stand out of order and still be read in one pass
)

var errDisorder = errors.New("rows too far out of order for one pass")

// Judge reads and judges a logger's record.
//
//   - in: the file; options
//   - out: excursions above the limit with the readings around their start and end, the longest, time of the product
//     above the limit, defrosts
//   - errors: [*fail.Error] naming line and column
//   - assumes: one place; air between readings on a straight line; where only air is logged, product follows it with
//     one time constant between 40 minutes and 6 hours, and starts at the middle of the air's first readings
//   - source: brackets: definition; product: first-order lag, its spread is judgement; what evidence must hold: FDA
//     Food Code 3-501.19, 4-204.112 and Reg. (EC) 37/2005 Art. 2(3), see doc.go
//   - cost: about 1 s for a million rows in a few megabytes; a file out of order by more than 512 rows is read again
//     and sorted, 24 bytes a row
func Judge(open Source, o Options) (Record, error) {
	var m Mapping
	var notes []Note
	if o.Mapping != nil {
		m = *o.Mapping
		if err := m.check(); err != nil {
			return Record{}, err
		}
	} else {
		var err error
		if m, notes, err = Propose(open, o); err != nil {
			return Record{}, err
		}
	}
	out, err := recordOnce(open, m, o, false)
	if errors.Is(err, errDisorder) {
		out, err = recordOnce(open, m, o, true)
	}
	if err != nil {
		return Record{}, err
	}
	out.Notes = append(notes, out.Notes...)
	return out, nil
}

func recordOnce(open Source, m Mapping, o Options, sorted bool) (out Record, err error) {
	f, err := open()
	if err != nil {
		return out, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	l := &logReader{m: m, o: o, notes: map[string]int{}}
	j := newJudge(m, o)
	if sorted {
		var all []row
		if err := l.read(f, func(r row) error {
			if len(all) >= maxUnsorted {
				return fail.Of(fail.BadData, "table", "coldrecord.out_of_order", nil)
			}
			all = append(all, r)
			return nil
		}); err != nil {
			return out, err
		}
		slices.SortStableFunc(all, func(a, b row) int {
			switch {
			case a.t < b.t:
				return -1
			case a.t > b.t:
				return 1
			}
			return 0
		})
		for _, r := range all {
			j.add(r)
		}
	} else {
		q := make(queue, 0, window)
		fed, last, place := false, int64(0), 0
		feed := func(r row) error {
			if fed && r.t < last {
				return errDisorder
			}
			fed, last = true, r.t
			j.add(r)
			return nil
		}
		if err := l.read(f, func(r row) error {
			place++
			if len(q) < window {
				heap.Push(&q, queued{r, place})
				return nil
			}
			return feed(q.exchange(queued{r, place}))
		}); err != nil {
			return out, err
		}
		for len(q) > 0 {
			if err := feed(q.earliest()); err != nil {
				return out, err
			}
		}
	}
	if j.n == 0 && len(j.first) == 0 && !j.haveHeld {
		return out, fail.Of(fail.BadData, "table", "coldrecord.empty", nil)
	}
	if l.down {
		j.notes[NoteNewestFirst]++
	}
	if m.Minutes {
		j.notes[NoteRelative]++
	}
	for k, n := range l.notes {
		j.notes[k] += n
	}
	out = j.finish(l.noOffset && o.Zone == nil || m.Minutes)
	out.Zone = o.Zone
	return out, nil
}

// Stamp writes a moment of the record: RFC 3339, without an offset where none is known.
func (c *Record) Stamp(t time.Time) string {
	switch {
	case c.Floating:
		return t.UTC().Format("2006-01-02T15:04:05")
	case c.Zone != nil:
		return t.In(c.Zone).Format(time.RFC3339)
	}
	return t.UTC().Format(time.RFC3339)
}
