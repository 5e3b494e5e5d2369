package app

import (
	"context"
	"math"
	"sync"
	"time"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/trial"
	"coldwright/units"
)

type judgedKey struct {
	visit record.ID
	phase record.Phase
	facts int
	// altitude is the site's, whose events are not the machine's.
	altitude float64
	// rates are those the judgement rests on; the same pointer is the same rates.
	rates *fault.Catalogue
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
	Room      *reading.RoomLoad // nil: the room or its machine's capacity is not known
}

// VisitView is a visit with its machine, its site and its judgements.
type VisitView struct {
	Site          record.Site
	Machine       *record.Machine
	Visit         *record.Visit
	Before, After End
	Now           time.Time
	Version       string
	Content       string // [record.Content] once somebody has signed

	app  *App
	blob func(hash string) (record.Blob, error)
}

// Blob returns the bytes of a picture or a file of the visit.
//
//   - errors: [*fail.Error] when there is none under this hash
func (v *VisitView) Blob(hash string) ([]byte, error) {
	b, err := v.blob(hash)
	return b.Bytes, err
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
	// A view may outlive the request it was made for.
	lasting := context.WithoutCancel(ctx)
	out.blob = func(hash string) (record.Blob, error) { return a.store.Blob(lasting, hash) }
	if len(v.Signatures) > 0 {
		if out.Content, err = a.Content(ctx, m.Site, m.ID, id); err != nil {
			return nil, err
		}
	}
	for _, p := range judge {
		*out.End(p) = a.judge(ctx, m, v, p)
	}
	return out, nil
}

// judge computes one end, or takes it from the last time when nothing has happened since.
func (a *App) judge(ctx context.Context, m *record.Machine, v *record.Visit, p record.Phase) End {
	rates, err := a.catalogueBefore(ctx, v.Opened)
	if err != nil {
		return End{Phase: p, Err: err}
	}
	key := judgedKey{v.ID, p, m.Facts, m.AltitudeM, rates}
	for {
		a.mu.Lock()
		e := a.judged.of[key]
		if e == nil {
			e = new(judgedEntry)
			a.judged.put(key, e)
		}
		a.mu.Unlock()
		// Whoever asks at the same time waits for the one answer. It is asked again when the one who began has gone meanwhile.
		e.Lock()
		if !e.done {
			e.end = a.judgeNow(ctx, m, v, p, rates)
			e.done = ctx.Err() == nil
		}
		end, done := e.end, e.done
		e.Unlock()
		if done || ctx.Err() != nil {
			return end
		}
	}
}

// judgedEntry is a judgement that is made once.
type judgedEntry struct {
	sync.Mutex
	done bool
	end  End
}

// judgeNow computes one end.
func (a *App) judgeNow(ctx context.Context, m *record.Machine, v *record.Visit, p record.Phase, rates *fault.Catalogue) End {
	e := End{Phase: p, Room: a.roomLoad(m)}
	s := m.Sheet(v, p)
	s.RoomLoad = e.Room
	if len(s.Readings) >= 2 {
		fit, err := a.Fit(m.Refrigerant)
		if err == nil {
			var post diagnose.Posterior
			post, err = diagnose.Run(ctx, diagnose.Evidence{Sheet: s, Fit: fit}, diagnose.Options{Catalogue: rates})
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
	return e
}

type glanceKey struct {
	visit  record.ID
	phase  record.Phase
	events int
	site   record.SiteBody
	rates  *fault.Catalogue
}

// Glance returns the visit a row of a list stands for, its open one or else its last, with the end that counts
// judged; nil when there is none. As long as nothing happens to the machine it is read and judged once. known leaves
// out what would have to be judged first.
func (a *App) Glance(ctx context.Context, r MachineRow, known bool) (*VisitView, error) {
	h := r.Open
	if h == nil {
		h = r.Last
	}
	if h == nil {
		return nil, nil
	}
	rates, err := a.catalogueAt(h.Opened)
	if err != nil {
		return nil, err
	}
	key := glanceKey{h.ID, h.Phase, r.Events, r.Site.SiteBody, rates}
	a.mu.Lock()
	v := a.glances.of[key]
	a.mu.Unlock()
	if v == nil {
		if known {
			return nil, nil
		}
		if v, err = a.Visit(ctx, h.ID, h.Phase); err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return nil, err
		}
		a.mu.Lock()
		a.glances.put(key, v)
		a.mu.Unlock()
	}
	out := *v
	out.Now = a.Now()
	return &out, nil
}

// SetPointOf returns the set point of a pull-down or of the machine.
func SetPointOf(m *record.Machine, p *record.Pull) units.Temp {
	if p != nil && p.SetPoint > 0 {
		return p.SetPoint
	}
	return m.SetPoint()
}

// MachineRow is a machine in a list, with the reason for its place. In a list the machine is without its visits, and
// Open and Last hold only what [Head] holds, with the end that counts as their phase.
type MachineRow struct {
	Machine *record.Machine
	Site    record.Site
	Open    *record.Visit // the open visit
	Last    *record.Visit // the last closed one
	Reason  string        // code: open_visit, not_healthy, topped_up, long_ago, never_seen, fine
	LostG   int64         // refrigerant added less recovered in the year before the last thing that happened to it
	Events  int           // of the machine; the same number: nothing has happened
}

// Sites lists the sites by name.
func (a *App) Sites(ctx context.Context) ([]record.Site, error) { return a.store.SiteCards(ctx) }

// SiteView is a site with its machines, the most worrying first.
type SiteView struct {
	Site     record.Site
	Machines []MachineRow
}

// Site returns one site.
func (a *App) Site(ctx context.Context, id record.ID) (*SiteView, error) {
	s, err := a.site(ctx, id)
	if err != nil {
		return nil, err
	}
	list, err := a.list(ctx, CardQuery{Site: id, Limit: math.MaxInt32})
	if err != nil {
		return nil, err
	}
	return &SiteView{s, list.Rows}, nil
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
	c := cardOf(m, s)
	row := c.row(a.Now())
	row.Machine = m
	return &MachineView{row, a.Now()}, nil
}

// Warm judges the last visits of the machines that come first, so that the first look at the lists need not wait.
// Failures show when the page is opened.
func (a *App) Warm(ctx context.Context) {
	list, err := a.Machines(ctx, "", 0, 24)
	if err != nil {
		return
	}
	for _, r := range list.Rows {
		if ctx.Err() != nil {
			return
		}
		_, _ = a.Glance(ctx, r, false)
	}
}
