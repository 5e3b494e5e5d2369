package app

import (
	"context"
	"time"

	"coldwright/diagnose"
	"coldwright/record"
)

// driftVisits is how many visits back a drift looks.
const driftVisits = 12

// DriftVisit is one visit of a drift. Before and After are its ends judged, nil where nothing was.
type DriftVisit struct {
	Visit *record.Visit
	diagnose.DriftPoint
	Before, After *diagnose.Posterior
	In, Out       int64 // refrigerant put in and taken out, grams
}

// DriftView says whether a machine has been losing refrigerant between its visits.
type DriftView struct {
	Machine *record.Machine
	Site    record.Site
	Visits  []DriftVisit
	Drift   diagnose.Drift
	Known   bool // at least two visits say something
	Hidden  bool // a receiver hides part of what is lost
	Now     time.Time
}

func dayOf(t time.Time) float64 { return t.Sub(time.Unix(0, 0)).Hours() / 24 }

// DateOf is the date of a day of the drift.
func DateOf(day float64) time.Time {
	return time.Unix(0, 0).Add(time.Duration(day * 24 * float64(time.Hour)))
}

// Drift judges both ends of the last visits, weighs their arrivals together, and says what was moved.
//
//   - in: a machine
//   - out: what each visit says about the charge, and what they say together
//   - errors: fail.NotFound, those of the store
//   - source: [diagnose.DriftOf]
//   - cost: a judgement for each end not judged before, about 60 ms each on one core
func (a *App) Drift(ctx context.Context, machine record.ID) (*DriftView, error) {
	read, err := a.read(ctx, machine)
	if err != nil {
		return nil, err
	}
	m := &read.machine
	out := &DriftView{Machine: m, Site: read.site, Now: a.Now()}
	visits := m.Visits
	if len(visits) > driftVisits {
		visits = visits[len(visits)-driftVisits:]
	}
	plate, _ := m.Plate().Resolve()
	out.Hidden = plate.Receiver
	var points []diagnose.DriftPoint
	for i := range visits {
		v := visits[i]
		var p diagnose.DriftPoint
		one := DriftVisit{Visit: v, Before: a.judge(ctx, m, v, record.Before).Posterior, After: a.judge(ctx, m, v, record.After).Posterior}
		if one.Before != nil {
			p = diagnose.Charge(m.Sheet(v, record.Before), one.Before)
		}
		p.Day = dayOf(v.Opened)
		for _, g := range v.Moves {
			if g.Direction == "added" {
				one.In += g.Grams
			} else {
				one.Out += g.Grams
			}
		}
		added := one.In - one.Out
		if full := m.FullChargeG; full != nil && *full > 0 {
			p.Added = float64(added) / float64(*full)
		}
		// Healthy at the end is full where nothing hides a shortage, or where refrigerant has just been put in.
		p.Full = v.Healthy && (!plate.Receiver || added > 0 || i == 0)
		one.DriftPoint = p
		out.Visits = append(out.Visits, one)
		points = append(points, p)
	}
	if len(points) > 0 {
		out.Drift, out.Known = diagnose.DriftOf(points, dayOf(out.Now))
	}
	return out, ctx.Err()
}
