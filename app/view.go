package app

import (
	"context"
	"fmt"
	"math"
	"runtime/debug"
	"strconv"
	"time"

	"coldwright/diagnose"
	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/rules/law"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/verdict/threshold"
)

type judgedKey struct {
	visit record.ID
	phase record.Phase
	facts int
	// altitude is the site's, whose events are not the machine's.
	altitude float64
	// rates are those the judgement rests on; the same pointer is the same rates.
	rates   *fault.Catalogue
	learned reading.Learned // of other machines
}

// String names the key for those who wait for the same judgement.
func (k judgedKey) String() string {
	return fmt.Sprintf("%s %s %d %s %p %v", k.visit, k.phase, k.facts, strconv.FormatFloat(k.altitude, 'g', -1, 64), k.rates, k.learned)
}

// stored is a machine with its site and the events of both, as they were read once.
type stored struct {
	site                      record.Site
	machine                   record.Machine
	siteEvents, machineEvents []record.Event
}

// read reads a machine and its site: without the site nobody knows its altitude, and so no absolute pressure.
func (a *App) read(ctx context.Context, machine record.ID) (*stored, error) {
	out := new(stored)
	var err error
	if out.machineEvents, err = a.store.MachineEvents(ctx, machine); err != nil {
		return nil, err
	}
	var ok bool
	if out.machine, ok = record.ProjectMachine(out.machineEvents); !ok {
		return nil, notFound("machine")
	}
	if out.siteEvents, err = a.store.SiteEvents(ctx, out.machine.Site); err != nil {
		return nil, err
	}
	if out.site, ok = record.ProjectSite(out.siteEvents); !ok {
		return nil, notFound("site")
	}
	out.machine.AltitudeM = out.site.AltitudeM
	return out, nil
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

// readVisit reads a visit with its machine and site.
func (a *App) readVisit(ctx context.Context, id record.ID) (*stored, *record.Visit, error) {
	machine, err := a.store.MachineOf(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	s, err := a.read(ctx, machine)
	if err != nil {
		return nil, nil, err
	}
	v, ok := s.machine.Visit(id)
	if !ok {
		return nil, nil, notFound("visit")
	}
	return s, v, nil
}

func (a *App) visit(ctx context.Context, id record.ID) (*record.Machine, *record.Visit, error) {
	s, v, err := a.readVisit(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	return &s.machine, v, nil
}

// End is one end of a visit. What is judged is there when it was asked for, see [Parts].
type End struct {
	Phase record.Phase
	Sheet reading.Sheet // what was read, with the earlier healthy visits
	// Judged: Posterior is nil when there was nothing to judge; Err says why in one line.
	Posterior *diagnose.Posterior
	Judged    *verdict.Judgement // the verdict on Posterior; nil without one
	Err       error
	Circuit   *circuit.Analysis // nil without data of the refrigerant
	Pull      *pulldown.Result
	PullErr   error
	Coming    *verdict.Coming   // nil: the box is cold, or its machine's readings do not all stand in band, or nobody can say
	Room      *reading.RoomLoad // nil: the room or its machine's capacity is not known
	Learned   *reading.Learned  // what other machines taught; nil: nothing
}

// Current stands in [Parts.Judge] for the end the visit is at.
const Current record.Phase = "current"

// Parts says what of a visit is computed beside what was recorded. The zero value: nothing.
type Parts struct {
	Judge    []record.Phase // these ends are judged
	Running  bool           // standing and vacuum test while they may still be undecided
	Tests    bool           // standing and vacuum test
	Charge   bool           // charge and scale
	Cold     bool           // loggers' files
	Clocks   bool           // the legal clocks
	Content  bool           // the sum that a signature names; a visit that is signed has it anyway
	Chart    *refrigerant.ChartOptions
	Pictures bool // the bytes of the photos
}

// VisitView is a visit with its machine, its site and what was wanted ([Parts]), all of it computed when it was
// made: it is only read. What could not be computed has its error beside it.
type VisitView struct {
	Site          record.Site
	Machine       *record.Machine
	Visit         *record.Visit
	Before, After End
	Now           time.Time
	Version       string
	Content       string   // [record.Content]; empty where nobody signed and nobody asked
	Contents      []string // [record.Contents], with it

	Hold      *HoldTest   // the standing test that counts; nil: none was begun
	Rise      *RiseTest   // the vacuum test that counts; nil: none was begun
	Charge    *ChargeView //
	ChargeErr error       //
	Cold      []ColdTest  // one for each of Visit.Cold
	Clocks    *Clocks     // as they stood when the visit was closed, or stand now while it is open
	ClocksErr error       //
	Chart     *refrigerant.Chart
	ChartErr  error
	Pictures  map[string][]byte // by hash

	Unread int // entries of the visit, its machine and its site that this program cannot read

	Verdict verdict.Visit // on what of it was asked for
}

// End returns one end.
func (v *VisitView) End(p record.Phase) *End {
	if p == record.After {
		return &v.After
	}
	return &v.Before
}

// Visit returns a visit with the parts asked for.
//
//   - errors: fail.NotFound; the store fails; a photo asked for is not there. What a judgement refuses stands beside its place.
//   - cost: one look at the machine's and the site's events; a judgement not made before about 60 ms on one core
func (a *App) Visit(ctx context.Context, id record.ID, want Parts) (*VisitView, error) {
	s, v, err := a.readVisit(ctx, id)
	if err != nil {
		return nil, err
	}
	m := &s.machine
	out := &VisitView{Site: s.site, Machine: m, Visit: v, Now: a.Now(), Version: a.o.Version}
	out.Unread = v.Unread + m.Unread + s.site.Unread
	if want.Content || len(v.Signatures) > 0 {
		out.Contents = record.Contents(s.siteEvents, s.machineEvents, id)
		out.Content = out.Contents[0]
	}
	out.Before = End{Phase: record.Before, Sheet: m.Sheet(v, record.Before)}
	out.After = End{Phase: record.After, Sheet: m.Sheet(v, record.After)}
	for _, p := range want.Judge {
		if p == Current {
			p = v.Phase
		}
		end := out.End(p)
		sheet := end.Sheet
		*end = a.judge(ctx, m, v, p)
		sheet.RoomLoad, sheet.Learned = end.Room, end.Learned
		end.Sheet = sheet
		if end.Judged != nil {
			j := *end.Judged // what is kept is shared
			if e, ok := m.RestsOn(s.machineEvents, v, p); ok {
				j.On.Entry = verdict.Entry{ID: string(e.ID), Device: e.Device, Number: e.Seq, At: e.At}
			}
			end.Judged = &j
		}
	}
	if want.Tests || want.Running && out.HoldRunning() {
		out.Hold = judgeHold(m, v.Hold())
	}
	if want.Tests || want.Running && out.RiseRunning() {
		out.Rise = judgeRise(m, v.Rise())
	}
	if want.Charge {
		out.Charge, out.ChargeErr = a.charge(m, v)
	}
	if want.Cold {
		for i := range v.Cold {
			out.Cold = append(out.Cold, a.coldTest(ctx, s.site, &v.Cold[i]))
		}
	}
	out.Verdict = out.judgeVisit(want)
	if want.Clocks {
		// What came later does not count, so that a report says the same whenever it is read.
		at := v.Closed
		if at.IsZero() {
			at = out.Now
		}
		out.Clocks, out.ClocksErr = clocks(m, s.site, at)
	}
	if want.Chart != nil {
		out.Chart, out.ChartErr = a.Chart(m.Refrigerant, *want.Chart)
	}
	if want.Pictures {
		out.Pictures = map[string][]byte{}
		for _, p := range v.Photos {
			b, err := a.store.Blob(ctx, p.Hash)
			if err != nil {
				return nil, err
			}
			out.Pictures[p.Hash] = b.Bytes
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return out, nil
}

// A test counts as running for so long after its last reading.
const (
	holdRuns = 48 * time.Hour
	riseRuns = 3 * time.Hour
)

// HoldRunning reports whether a standing test of an open visit may still be undecided.
func (v *VisitView) HoldRunning() bool {
	t := v.Visit.Hold()
	if !v.Visit.Closed.IsZero() || t == nil || len(t.Points) == 0 {
		return false
	}
	last := t.Points[len(t.Points)-1].At
	if r := v.Visit.Rise(); r != nil && !r.Started.Before(last) {
		return false // the nitrogen is out
	}
	return v.Now.Sub(last) < holdRuns && !v.coldAfter(last)
}

// RiseRunning reports whether a vacuum test of an open visit may still be undecided.
func (v *VisitView) RiseRunning() bool {
	t := v.Visit.Rise()
	if !v.Visit.Closed.IsZero() || t == nil || len(t.Points) == 0 {
		return false
	}
	last := t.Points[len(t.Points)-1].At
	return v.Now.Sub(last) < riseRuns && !v.coldAfter(last)
}

// coldAfter reports whether the machine was filled or pulled down after a moment: no gas or vacuum stands in it then.
func (v *VisitView) coldAfter(at time.Time) bool {
	if p := v.Visit.After.Pull; p != nil && p.Started.After(at) {
		return true
	}
	for _, m := range v.Visit.Moves {
		if m.Direction == "added" && m.At.After(at) {
			return true
		}
	}
	return false
}

// judge computes one end, or takes it from the last time when nothing has happened since. Whoever asks at the same
// time waits for the one answer, as long as their context lets them.
func (a *App) judge(ctx context.Context, m *record.Machine, v *record.Visit, p record.Phase) End {
	rates, err := a.catalogueBefore(ctx, v.Opened)
	if err != nil {
		return End{Phase: p, Err: err}
	}
	learned, _, err := a.learnedBefore(ctx, m, v.Opened, false)
	if err != nil {
		return End{Phase: p, Err: err}
	}
	key := judgedKey{v.ID, p, m.Facts, m.AltitudeM, rates, valueOf(learned)}
	a.mu.Lock()
	end, ok := a.judged.of[key]
	a.mu.Unlock()
	if ok {
		return end
	}
	// The judgement goes on when the one who began it leaves: others may wait for it, and it is kept.
	lasting := context.WithoutCancel(ctx)
	answer := a.judging.DoChan(key.String(), func() (_ any, err error) {
		defer func() {
			if p := recover(); p != nil {
				err = fmt.Errorf("judging: %v\n%s", p, debug.Stack())
			}
		}()
		end := a.judgeNow(lasting, m, v, p, rates, learned)
		a.mu.Lock()
		a.judged.put(key, end)
		a.mu.Unlock()
		return end, nil
	})
	select {
	case r := <-answer:
		if r.Err != nil {
			return End{Phase: p, Err: r.Err}
		}
		return r.Val.(End)
	case <-ctx.Done():
		return End{Phase: p, Err: ctx.Err()}
	}
}

// judgeNow computes one end.
func (a *App) judgeNow(
	ctx context.Context, m *record.Machine, v *record.Visit, p record.Phase, rates *fault.Catalogue, learned *reading.Learned,
) End {
	e := End{Phase: p, Room: a.roomLoad(m), Learned: learned}
	s := m.Sheet(v, p)
	s.RoomLoad, s.Learned = e.Room, e.Learned
	fit, err := a.Fit(m.Refrigerant)
	if err == nil {
		c := circuit.Analyze(s, fit)
		e.Circuit = &c
	}
	pts, o := pullOf(m, v, p)
	if e.Room != nil {
		o.Loads = pulldown.LoadsOf(e.Room.Share, e.Room.U)
	}
	var r pulldown.Result
	readings := len(s.Readings) >= threshold.EnoughToJudge
	switch {
	case readings && err == nil && len(pts) > 0:
		var post diagnose.Posterior
		ev := diagnose.Evidence{Sheet: s, Fit: fit}
		post, r, err, e.PullErr = diagnose.RunWithPull(ctx, ev, diagnose.Options{Catalogue: rates, Misfit: true}, pts, o)
		if err == nil {
			e.Posterior, e.Judged = &post, verdict.Of(&post, s)
		}
	case readings && err == nil:
		var post diagnose.Posterior
		post, err = diagnose.Run(ctx, diagnose.Evidence{Sheet: s, Fit: fit}, diagnose.Options{Catalogue: rates, Misfit: true})
		if err == nil {
			e.Posterior, e.Judged = &post, verdict.Of(&post, s)
		}
	case len(pts) > 0:
		r, e.PullErr = pulldown.Judge(pts, o)
	}
	if readings {
		e.Err = err
	}
	if len(pts) > 0 && readings && e.Judged == nil && r.N == 0 && e.PullErr == nil { // no data of its refrigerant
		r, e.PullErr = pulldown.Judge(pts, o)
	}
	if len(pts) > 0 && e.PullErr == nil {
		e.Pull, e.Coming = &r, verdict.OfComing(e.Judged, e.Posterior, &r, o.SetPoint)
	}
	return e
}

// pullOf are the points of the pull-down of an end, none without one, and what it is judged beside.
func pullOf(m *record.Machine, v *record.Visit, p record.Phase) ([]pulldown.Point, pulldown.Options) {
	pull := v.End(p).Pull
	if pull == nil {
		return nil, pulldown.Options{}
	}
	o := pulldown.Options{SetPoint: SetPointOf(m, pull)}
	if p == record.After {
		o.Earlier = pullPoints(v.End(record.Before).Pull)
	} else {
		o.Later = pullPoints(v.End(record.After).Pull)
	}
	return pullPoints(pull), o
}

// LastPull is when the pull-down of an end was last read, on the site's clock; zero without one.
func (v *VisitView) LastPull(p record.Phase) time.Time {
	pull := v.Visit.End(p).Pull
	if pull == nil || len(pull.Points) == 0 {
		return time.Time{}
	}
	last := pull.Points[len(pull.Points)-1].Minute
	return pull.Started.Add(time.Duration(last * float64(time.Minute))).In(v.Site.Location())
}

// pullPoints are the readings of a pull-down; none of nil.
func pullPoints(p *record.Pull) (out []pulldown.Point) {
	if p == nil {
		return nil
	}
	for _, q := range p.Points {
		out = append(out, pulldown.Point{Minute: q.Minute, Box: q.Box})
	}
	return out
}

type glanceKey struct {
	visit  record.ID
	phase  record.Phase
	events int
	site   record.SiteBody
	rates  *fault.Catalogue
	taught reading.Learned
}

func valueOf(l *reading.Learned) reading.Learned {
	if l == nil {
		return reading.Learned{}
	}
	return *l
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
	learned, ok, err := a.learnedBefore(ctx, r.Machine, h.Opened, known)
	if err != nil || !ok {
		return nil, err
	}
	key := glanceKey{h.ID, h.Phase, r.Events, r.Site.SiteBody, rates, valueOf(learned)}
	a.mu.Lock()
	v := a.glances.of[key]
	a.mu.Unlock()
	if v == nil {
		if known {
			return nil, nil
		}
		if v, err = a.Visit(ctx, h.ID, Parts{Judge: []record.Phase{h.Phase}, Running: true}); err != nil {
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
	Reason  string        // code: open_visit, not_healthy, leak, topped_up, long_ago, never_seen, fine
	LostG   int64         // refrigerant added less recovered in the year before the last thing that happened to it
	Leak    *OpenLeak     // found and not yet proven closed
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

// MachineParts says what of a machine is computed beside what was recorded.
type MachineParts struct {
	Clocks   bool   // the duties on the site's calendar day
	Retrofit string // what this refrigerant would mean; empty: nobody asked
}

// MachineView is a machine with its site and place in the list, and what was wanted ([MachineParts]).
type MachineView struct {
	MachineRow
	Now         time.Time
	Clocks      *Clocks
	Retrofit    []law.Change
	RetrofitErr error
	Unread      int // entries of the machine, its visits and its site that this program cannot read
}

// Machine returns one machine.
//
//   - errors: fail.NotFound; the store fails
func (a *App) Machine(ctx context.Context, id record.ID, want MachineParts) (*MachineView, error) {
	s, err := a.read(ctx, id)
	if err != nil {
		return nil, err
	}
	m := &s.machine
	c := cardOf(m, s.site)
	out := &MachineView{MachineRow: c.row(a.Now()), Now: a.Now()}
	out.Machine = m
	out.Unread = m.Unread + s.site.Unread
	for _, v := range m.Visits {
		out.Unread += v.Unread
	}
	held, err := a.store.Quarantine(ctx, id, 1000)
	if err != nil {
		return nil, err
	}
	out.Unread += len(held)
	if want.Clocks {
		if out.Clocks, err = clocks(m, s.site, out.Now); err != nil {
			return nil, err
		}
	}
	if want.Retrofit != "" {
		out.Retrofit, out.RetrofitErr = retrofit(m, s.site, want.Retrofit, out.Now)
	}
	return out, nil
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
		a.warm(ctx, r)
	}
}

// warm judges one; whatever that runs into is for the page that shows it, not for the program to end on.
func (a *App) warm(ctx context.Context, r MachineRow) {
	defer func() { _ = recover() }()
	_, _ = a.Glance(ctx, r, false)
}
