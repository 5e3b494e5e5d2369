package templog

import (
	"math"

	"coldwright/units"
)

func (j *judge) excursion(t int64, v float64) {
	sure := v > j.limit+j.tol
	switch {
	case v > j.limit && j.open == nil:
		j.open = &Excursion{
			Start: Bracket{
				moment(j.lastWithin),
				moment(t),
			},
			WideStart: Bracket{After: moment(j.sureWithin)},
			Peak:      units.Temp(v),
			PeakAt:    moment(t),
			FromStart: j.lastWithin == none,
		}
	case v <= j.limit && j.open != nil:
		j.close(t)
	}
	if e := j.open; e != nil {
		j.lastAbove = t
		if units.Temp(v) > e.Peak {
			e.Peak, e.PeakAt = units.Temp(v), moment(t)
		}
		if sure {
			if !e.Sure {
				e.Sure, e.WideStart.Before = true, moment(t)
			}
			e.WideEnd.After = moment(t)
		}
	}
	if v <= j.limit {
		j.lastWithin = t
	}
	if v <= j.limit-j.tol {
		j.sureWithin = t
		for _, i := range j.pending {
			j.out.Excursions[i].WideEnd.Before = moment(t)
		}
		j.pending = j.pending[:0]
	}
}

// close ends the open excursion at a reading within the limit; none where the record ends first.
func (j *judge) close(t int64) {
	e := j.open
	j.open = nil
	e.End = Bracket{moment(j.lastAbove), moment(t)}
	e.Low = math.Max(0, float64(j.lastAbove-e.Start.Before.Unix())/60-e.Gap)
	from := e.Start.After
	if from.IsZero() {
		from = e.Start.Before
	}
	to := t
	if t == none {
		to, e.ToEnd = j.lastAbove, true
	}
	e.High = float64(to-from.Unix()) / 60
	j.out.AboveLow += e.Low
	j.out.AboveHigh += e.High
	j.out.Count++
	if j.out.Longest == nil || e.High > j.out.Longest.High {
		c := *e
		j.out.Longest = &c
	}
	if len(j.out.Excursions) < maxExcursions {
		if t != none {
			j.pending = append(j.pending, len(j.out.Excursions))
		}
		j.out.Excursions = append(j.out.Excursions, *e)
	}
}
