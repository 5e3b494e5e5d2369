package app

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"coldwright/machine/fault"
	"coldwright/record"
)

// learned is what the log says about causes and healthy visits, read on from a cursor. An App holds one; it holds
// nothing that is not in the log.
type learned struct {
	reading sync.Mutex // held by who reads on; guards cursor
	loaded  atomic.Bool
	cursor  int64

	// The rest is guarded by the App's learnMu.
	confirmed map[record.ID]confirmation // by event
	healthy   map[record.ID]HealthyVisit // by event
	gone      map[record.ID]bool         // events taken back
	aside     map[record.ID]record.ID    // machines whose lessons were set aside, by event
	// changed are events that may change what machines taught each other, not yet taken in; forget: too many of them.
	changed []record.Event
	forget  bool
	// last are the confirmations that count, one for each visit, oldest first; nil: to be made.
	last []confirmation
	// normal are the healthy visits that hold, newest first; nil: to be made.
	normal []HealthyVisit
	// ofMachine are the same by machine.
	ofMachine map[record.ID][]HealthyVisit
	// byDay are the catalogues as they stood at the beginning of a day. A pointer stays the same as long as nothing before that day changes.
	byDay map[time.Time]*fault.Catalogue
}

type confirmation struct {
	Confirmation
	order record.Event // its place among the confirmations of its visit
}

// Confirmation is a cause that a repair confirmed.
type Confirmation struct {
	Event, Visit, Machine record.ID
	At                    time.Time
	Cause                 fault.Code
}

// HealthyVisit is a visit whose readings are a machine's own normal values.
type HealthyVisit struct {
	Event, Visit, Machine record.ID
	At                    time.Time
}

// catchUp reads on in the log. When somebody else is reading on already, what was read before is good enough, but for the first time.
func (a *App) catchUp(ctx context.Context) error {
	l := &a.learned
	if !l.reading.TryLock() {
		if l.loaded.Load() {
			return nil
		}
		l.reading.Lock()
	}
	defer l.reading.Unlock()
	for {
		kinds := []record.Kind{record.CauseConfirmed, record.JudgedHealthy, record.LessonSetAside, record.Withdrawn}
		if l.loaded.Load() { // before that no machine was read of which something could have changed
			kinds = append(kinds, bears...)
		}
		events, next, err := a.store.Kinds(ctx, l.cursor, 2000, kinds...)
		if err != nil {
			return err
		}
		if len(events) == 0 {
			l.loaded.Store(true)
			return nil
		}
		a.learnMu.Lock()
		if l.confirmed == nil {
			l.confirmed, l.healthy, l.gone = map[record.ID]confirmation{}, map[record.ID]HealthyVisit{}, map[record.ID]bool{}
			l.aside = map[record.ID]record.ID{}
		}
		for _, e := range events {
			l.take(e)
		}
		a.learnMu.Unlock()
		l.cursor = next
	}
}

func (l *learned) take(e record.Event) {
	if !e.Known() {
		return
	}
	changed := time.Time{} // from when on the counts are others
	switch e.Kind {
	case record.CauseConfirmed:
		var b record.ConfirmBody
		if json.Unmarshal(e.Body, &b) != nil {
			return
		}
		code, err := fault.Parse(b.Fault)
		if err != nil {
			return
		}
		l.confirmed[e.ID] = confirmation{Confirmation{e.ID, e.Visit, e.Machine, e.At.UTC(), code}, e}
		changed = e.At
	case record.JudgedHealthy:
		l.healthy[e.ID] = HealthyVisit{e.ID, e.Visit, e.Machine, e.At.UTC()}
		l.normal = nil
		l.note(e)
		return
	case record.LessonSetAside:
		l.aside[e.ID] = e.Machine
		l.note(e)
		return
	case record.Withdrawn:
		l.gone[e.Corrects] = true
		l.normal = nil
		l.note(e)
		c, ok := l.confirmed[e.Corrects]
		if !ok {
			return
		}
		changed = c.At
	default:
		l.note(e)
		return
	}
	l.last = nil
	for day := range l.byDay {
		if day.After(changed) {
			delete(l.byDay, day)
		}
	}
}

// counted are the confirmations that hold: of each visit the last one that was not taken back. Oldest first.
func (l *learned) counted() []confirmation {
	if l.last == nil {
		byVisit := map[record.ID]confirmation{}
		for id, c := range l.confirmed {
			if l.gone[id] {
				continue
			}
			two := []record.Event{byVisit[c.Visit].order, c.order}
			record.Sort(two)
			if two[1].ID == id {
				byVisit[c.Visit] = c
			}
		}
		l.last = make([]confirmation, 0, len(byVisit))
		for _, c := range byVisit {
			l.last = append(l.last, c)
		}
		slices.SortFunc(l.last, func(a, b confirmation) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Event, b.Event)) })
	}
	return l.last
}

// holding are the healthy visits that hold. Newest first.
func (l *learned) holding() []HealthyVisit {
	if l.normal == nil {
		l.normal = make([]HealthyVisit, 0, len(l.healthy))
		for id, h := range l.healthy {
			if !l.gone[id] {
				l.normal = append(l.normal, h)
			}
		}
		slices.SortFunc(l.normal, func(x, y HealthyVisit) int { return cmp.Or(y.At.Compare(x.At), cmp.Compare(x.Event, y.Event)) })
		l.ofMachine = map[record.ID][]HealthyVisit{}
		for _, h := range l.normal {
			l.ofMachine[h.Machine] = append(l.ofMachine[h.Machine], h)
		}
	}
	return l.normal
}

// catalogueBefore is the fault catalogue as learned from repairs confirmed before the day a visit was opened, in UTC:
// a visit is judged by what was known when it began, so that its own confirmed cause does not speak for itself and an
// old judgement stays as it was.
func (a *App) catalogueBefore(ctx context.Context, opened time.Time) (*fault.Catalogue, error) {
	if err := a.catchUp(ctx); err != nil {
		return nil, err
	}
	return a.catalogueAt(opened)
}

// catalogueAt is the same from what was read of the log so far.
func (a *App) catalogueAt(opened time.Time) (*fault.Catalogue, error) {
	day := opened.UTC().Truncate(24 * time.Hour)
	a.learnMu.Lock()
	defer a.learnMu.Unlock()
	if c, ok := a.learned.byDay[day]; ok {
		return c, nil
	}
	shipped, err := fault.Shipped()
	if err != nil {
		return nil, err
	}
	counts := map[fault.Code]float64{}
	for _, c := range a.learned.counted() {
		if !c.At.Before(day) {
			break
		}
		counts[c.Cause]++
	}
	c := shipped.Learn(counts)
	if len(a.learned.byDay) > 2000 {
		clear(a.learned.byDay)
	}
	if a.learned.byDay == nil {
		a.learned.byDay = map[time.Time]*fault.Catalogue{}
	}
	a.learned.byDay[day] = &c
	return &c, nil
}

// LearnedRate is a cause with its base rate as shipped, the repairs that confirmed it, and its rate by them.
type LearnedRate struct {
	Cause        fault.Code
	Shipped, Now float64 // share of unhealthy visits, 0 to 1
	Repairs      int
}

// Learned is what the log has taught: about causes in general and about single machines.
type Learned struct {
	Rates     []LearnedRate // the largest rate now first
	Repairs   int           // confirmed, of causes in the catalogue
	Confirmed []NamedConfirmation
	Healthy   []NamedHealthy
	// Confirmations and HealthyVisits are how many there are; the lists hold the newest of them.
	Confirmations, HealthyVisits int
}

// NamedConfirmation is a confirmation with the names of its machine and site.
type NamedConfirmation struct {
	Confirmation
	Machine, Site string
}

// NamedHealthy is a healthy visit with the names of its machine and site.
type NamedHealthy struct {
	HealthyVisit
	Name, Site string
}

// Learned returns what was learned so far; of single confirmations and healthy visits at most limit, the newest.
//
//   - errors: the store fails
//   - source: [fault.Catalogue.Learn]
func (a *App) Learned(ctx context.Context, limit int) (*Learned, error) {
	shipped, err := fault.Shipped()
	if err != nil {
		return nil, err
	}
	if err := a.catchUp(ctx); err != nil {
		return nil, err
	}
	a.learnMu.Lock()
	counted, healthy := a.learned.counted(), a.learned.holding() // made anew when something changes, never changed themselves
	a.learnMu.Unlock()
	out := &Learned{Confirmations: len(counted), HealthyVisits: len(healthy)}
	counts := map[fault.Code]float64{}
	for _, c := range counted {
		counts[c.Cause]++
	}
	total := 0.0
	now := shipped.Learn(counts)
	for _, f := range shipped.Faults {
		total += f.BaseRate
	}
	for i, f := range shipped.Faults {
		out.Rates = append(out.Rates, LearnedRate{f.Code, f.BaseRate / total, now.Faults[i].BaseRate / total, int(counts[f.Code])})
		out.Repairs += int(counts[f.Code])
	}
	slices.SortStableFunc(out.Rates, func(x, y LearnedRate) int { return cmp.Compare(y.Now, x.Now) })
	newest, kept := slices.Clone(part(counted, len(counted)-limit, limit)), part(healthy, 0, limit)
	slices.Reverse(newest)
	ids := []record.ID{}
	for _, c := range newest {
		ids = append(ids, c.Machine)
	}
	for _, h := range kept {
		ids = append(ids, h.Machine)
	}
	cards, _, err := a.store.Cards(ctx, CardQuery{Machines: ids, Limit: len(ids)})
	if err != nil {
		return nil, err
	}
	names := map[record.ID]Card{}
	for _, c := range cards {
		names[c.Machine] = c
	}
	for _, c := range newest {
		n := names[c.Machine]
		out.Confirmed = append(out.Confirmed, NamedConfirmation{c.Confirmation, n.Body.Name, n.Site.Name})
	}
	for _, h := range kept {
		n := names[h.Machine]
		out.Healthy = append(out.Healthy, NamedHealthy{h, n.Body.Name, n.Site.Name})
	}
	return out, nil
}
