package app

import (
	"context"
	"math"
	"sort"
	"time"

	"coldwright/diagnose"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/trial"
	"coldwright/units"
)

type judgedKey struct {
	visit  record.ID
	phase  record.Phase
	events int
}

func (a *App) machine(ctx context.Context, id record.ID) (*record.Machine, error) {
	events, err := a.store.MachineEvents(ctx, id)
	if err != nil {
		return nil, err
	}
	m, ok := record.ProjectMachine(events)
	if !ok {
		return nil, notFound("machine")
	}
	if s, err := a.site(ctx, m.Site); err == nil {
		m.AltitudeM = s.AltitudeM
	}
	return &m, nil
}

func (a *App) site(ctx context.Context, id record.ID) (record.Site, error) {
	events, err := a.store.SiteEvents(ctx, id)
	if err != nil {
		return record.Site{}, err
	}
	s, ok := record.ProjectSite(events)
	if !ok {
		return s, notFound("site")
	}
	return s, nil
}

func (a *App) visit(ctx context.Context, id record.ID) (*record.Machine, *record.Visit, error) {
	mid, err := a.store.MachineOf(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	m, err := a.machine(ctx, mid)
	if err != nil {
		return nil, nil, err
	}
	v, ok := m.Visit(id)
	if !ok {
		return nil, nil, notFound("visit")
	}
	return m, v, nil
}

// End is one end of a visit, judged. Posterior is nil when there was nothing to judge; Err says why in one line.
type End struct {
	Phase     record.Phase
	Posterior *diagnose.Posterior
	Err       error
	Pull      *trial.PullDown
	PullErr   error
}

// VisitView is a visit with its machine, its site and its judgements.
type VisitView struct {
	Site          record.Site
	Machine       *record.Machine
	Visit         *record.Visit
	Before, After End
	Now           time.Time
	Version       string

	app *App
}

// Chart returns the pressure–enthalpy chart of the machine's refrigerant.
func (v *VisitView) Chart(lines refrigerant.ChartOptions) (*refrigerant.Chart, error) {
	return v.app.Chart(v.Machine.Refrigerant, lines)
}

// End returns one end.
func (v *VisitView) End(p record.Phase) *End {
	if p == record.After {
		return &v.After
	}
	return &v.Before
}

// Visit returns a visit; ends named in judge are judged, the others left out.
func (a *App) Visit(ctx context.Context, id record.ID, judge ...record.Phase) (*VisitView, error) {
	m, v, err := a.visit(ctx, id)
	if err != nil {
		return nil, err
	}
	site, err := a.site(ctx, m.Site)
	if err != nil {
		return nil, err
	}
	out := &VisitView{Site: site, Machine: m, Visit: v, Now: a.Now(), Version: a.o.Version, app: a}
	for _, p := range judge {
		*out.End(p) = a.judge(ctx, m, v, p)
	}
	return out, nil
}

// judge computes one end, or takes it from the last time when nothing has happened since.
func (a *App) judge(ctx context.Context, m *record.Machine, v *record.Visit, p record.Phase) End {
	total := 0
	for _, w := range m.Visits {
		total += w.Events
	}
	key := judgedKey{v.ID, p, total}
	a.mu.Lock()
	e, ok := a.judged[key]
	a.mu.Unlock()
	if ok {
		return e
	}
	e = End{Phase: p}
	s := m.Sheet(v, p)
	if len(s.Readings) >= 2 {
		fit, err := a.Fit(m.Refrigerant)
		if err == nil {
			var post diagnose.Posterior
			post, err = diagnose.Run(ctx, diagnose.Evidence{Sheet: s, Fit: fit}, diagnose.Options{})
			if err == nil {
				e.Posterior = &post
			}
		}
		e.Err = err
	}
	if pull := v.End(p).Pull; pull != nil && len(pull.Points) > 0 {
		var pts []trial.Point
		for _, q := range pull.Points {
			pts = append(pts, trial.Point{Minute: q.Minute, Box: q.Box})
		}
		set := pull.SetPoint
		if set == 0 {
			set = m.SetPoint()
		}
		r, err := trial.RunPullDown(pts, trial.Options{SetPoint: set})
		if err == nil {
			e.Pull = &r
		}
		e.PullErr = err
	}
	if ctx.Err() == nil {
		a.mu.Lock()
		if len(a.judged) > 500 {
			clear(a.judged)
		}
		a.judged[key] = e
		a.mu.Unlock()
	}
	return e
}

// SetPointOf returns the set point of a pull-down or of the machine.
func SetPointOf(m *record.Machine, p *record.Pull) units.Temp {
	if p != nil && p.SetPoint > 0 {
		return p.SetPoint
	}
	return m.SetPoint()
}

// MachineRow is a machine in a list, with the reason for its place.
type MachineRow struct {
	Machine *record.Machine
	Site    record.Site
	Open    *record.Visit // the open visit
	Last    *record.Visit // the last closed one
	Reason  string        // code: open_visit, not_healthy, topped_up, long_ago, never_seen, fine
	Worry   float64
	LostG   int64 // refrigerant added less recovered in the last year
}

// Machines lists every machine, the most worrying first.
func (a *App) Machines(ctx context.Context) ([]MachineRow, error) {
	ids, err := a.store.Machines(ctx)
	if err != nil {
		return nil, err
	}
	var out []MachineRow
	for _, id := range ids {
		m, err := a.machine(ctx, id)
		if err != nil {
			return nil, err
		}
		s, err := a.site(ctx, m.Site)
		if err != nil {
			return nil, err
		}
		out = append(out, a.row(m, s))
	}
	sort.SliceStable(out, func(i, j int) bool {
		if out[i].Worry != out[j].Worry {
			return out[i].Worry > out[j].Worry
		}
		return out[i].Machine.Name < out[j].Machine.Name
	})
	return out, nil
}

// row ranks a machine. Judgement: an open visit first, then a machine left not healthy, then refrigerant added within a year, then time since the last visit.
func (a *App) row(m *record.Machine, s record.Site) MachineRow {
	r := MachineRow{Machine: m, Site: s, Reason: "never_seen", Worry: 10}
	now := a.Now()
	for _, v := range m.Visits {
		if v.Closed.IsZero() {
			r.Open = v
		} else {
			r.Last = v
		}
		for _, g := range v.Moves {
			if now.Sub(g.At) < 366*24*time.Hour {
				if g.Direction == "added" {
					r.LostG += g.Grams
				} else {
					r.LostG -= g.Grams
				}
			}
		}
	}
	switch {
	case r.Open != nil:
		r.Reason, r.Worry = "open_visit", 1000
	case r.Last == nil:
	case !r.Last.Healthy:
		r.Reason, r.Worry = "not_healthy", 500
	case r.LostG > 0:
		share := 0.1
		if m.FullChargeG != nil && *m.FullChargeG > 0 {
			share = float64(r.LostG) / float64(*m.FullChargeG)
		}
		r.Reason, r.Worry = "topped_up", 100+100*math.Min(share, 3)
	default:
		days := now.Sub(r.Last.Closed).Hours() / 24
		r.Reason, r.Worry = "fine", math.Min(days/10, 90)
		if days > 200 {
			r.Reason = "long_ago"
		}
	}
	return r
}

// SiteView is a site with its machines.
type SiteView struct {
	Site     record.Site
	Machines []MachineRow
}

// Sites lists the sites by name.
func (a *App) Sites(ctx context.Context) ([]SiteView, error) {
	ids, err := a.store.Sites(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := a.Machines(ctx)
	if err != nil {
		return nil, err
	}
	var out []SiteView
	for _, id := range ids {
		s, err := a.site(ctx, id)
		if err != nil {
			return nil, err
		}
		v := SiteView{Site: s}
		for _, r := range rows {
			if r.Machine.Site == id {
				v.Machines = append(v.Machines, r)
			}
		}
		out = append(out, v)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Site.Name < out[j].Site.Name })
	return out, nil
}

// Site returns one site.
func (a *App) Site(ctx context.Context, id record.ID) (*SiteView, error) {
	all, err := a.Sites(ctx)
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].Site.ID == id {
			return &all[i], nil
		}
	}
	return nil, notFound("site")
}

// MachineView is a machine with its site and place in the list.
type MachineView struct {
	MachineRow
	Now time.Time
}

// Machine returns one machine.
func (a *App) Machine(ctx context.Context, id record.ID) (*MachineView, error) {
	m, err := a.machine(ctx, id)
	if err != nil {
		return nil, err
	}
	s, err := a.site(ctx, m.Site)
	if err != nil {
		return nil, err
	}
	return &MachineView{a.row(m, s), a.Now()}, nil
}

// Warm judges the last visit of every machine, so that the first look at a list need not wait. Failures show when the page is opened.
func (a *App) Warm(ctx context.Context) {
	rows, err := a.Machines(ctx)
	if err != nil {
		return
	}
	for _, r := range rows {
		for _, v := range []*record.Visit{r.Open, r.Last} {
			if v == nil || ctx.Err() != nil {
				continue
			}
			a.judge(ctx, r.Machine, v, record.Before)
			a.judge(ctx, r.Machine, v, record.After)
		}
	}
}
