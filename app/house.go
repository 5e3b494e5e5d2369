package app

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"coldwright/diagnose"
	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/record"
)

// houses is what machines have taught about each other, by application and day, as the log has it; an App holds one, and
// it holds nothing that is not in the log. Machines are read when first asked for, and again when something happened to
// what they taught from.
type houses struct {
	mu     sync.Mutex
	pupils map[record.ID]*pupil
	cools  map[record.ID]string // application of machines that teach, by machine
	sites  map[string]*diagnose.Site
	of     map[houseKey]*house
}

type houseKey struct {
	application reading.Application
	day         time.Time
}

// house is one application as it stood at the beginning of a day.
type house struct {
	*diagnose.House
	at       map[record.ID]*diagnose.Site    // by site
	teachers map[record.ID]*diagnose.Teacher // by machine
	learned  map[record.ID]*reading.Learned  // by machine that asked
}

// pupil is a machine whose healthy visits teach.
type pupil struct {
	site     record.ID
	visits   []record.Healthy
	teachers map[string]*diagnose.Teacher // by the visits that teach
}

// mostTeachers is how many machines of one application teach at most: those met healthy last. Beyond some hundred
// another one moves nothing, and each is read once.
const mostTeachers = 200

// bears lists the kinds beside those of learning that may change what a machine taught.
var bears = []record.Kind{
	record.MachineSaved, record.SiteSaved, record.ReadingTaken, record.ThingsSeen, record.Running, record.MachineTimed,
}

// mostChanges is how many changes are kept until somebody asks; beyond that all is read anew.
const mostChanges = 4096

// note keeps an event that may change what was taught.
func (l *learned) note(e record.Event) {
	if l.changed = append(l.changed, e); len(l.changed) > mostChanges {
		l.changed, l.forget = nil, true
	}
}

// follow takes in what has happened since it was last asked. Its caller holds x.mu.
func (x *houses) follow(l *learned, learnMu *sync.Mutex) {
	learnMu.Lock()
	changed, forget := l.changed, l.forget
	l.changed, l.forget = nil, false
	learnMu.Unlock()
	if forget || x.pupils == nil {
		x.pupils, x.cools = map[record.ID]*pupil{}, map[record.ID]string{}
		x.clear()
	}
	for _, e := range changed {
		p := x.pupils[e.Machine]
		switch e.Kind {
		case record.JudgedHealthy, record.Withdrawn, record.LessonSetAside:
		case record.MachineSaved:
			delete(x.cools, e.Machine)
			if p == nil {
				continue
			}
		case record.SiteSaved:
			for id, p := range x.pupils {
				if p.site == e.Site {
					delete(x.pupils, id)
				}
			}
		default:
			if p == nil || !slices.ContainsFunc(p.visits, func(v record.Healthy) bool { return v.Visit == e.Visit }) {
				continue
			}
		}
		delete(x.pupils, e.Machine)
		x.clear()
	}
}

func (x *houses) clear() { x.sites, x.of = map[string]*diagnose.Site{}, map[houseKey]*house{} }

// taught are the visits that teach, by machine, of those kept as healthy before a day, the machines met last first.
func (l *learned) taught(day time.Time) (order []record.ID, visits map[record.ID][]record.ID) {
	visits = map[record.ID][]record.ID{}
	aside := map[record.ID]bool{}
	for event, machine := range l.aside {
		if !l.gone[event] {
			aside[machine] = true
		}
	}
	for _, h := range l.holding() {
		if aside[h.Machine] || !h.At.Before(day) {
			continue
		}
		if visits[h.Machine] == nil {
			order = append(order, h.Machine)
		}
		visits[h.Machine] = append(visits[h.Machine], h.Visit)
	}
	return order, visits
}

// learnedBefore is what other machines of a machine's application taught until the beginning of the day a visit was
// opened, in UTC, as [App.catalogueBefore] has it of repairs; nil: nothing. known leaves out what would have to be read
// first, and says so.
func (a *App) learnedBefore(ctx context.Context, m *record.Machine, opened time.Time, known bool) (l *reading.Learned, ok bool, err error) {
	cools, err := reading.ParseApplication(m.Application)
	if err != nil || cools == reading.ApplicationUnknown {
		return nil, true, nil
	}
	key := houseKey{cools, opened.UTC().Truncate(24 * time.Hour)}
	x := &a.houses
	x.mu.Lock()
	defer x.mu.Unlock()
	x.follow(&a.learned, &a.learnMu)
	h := x.of[key]
	if h == nil {
		if known {
			return nil, false, nil
		}
		if h, err = a.houseAt(ctx, key); err != nil {
			return nil, false, err
		}
	}
	return h.expected(m.ID, m.Site), true, nil
}

// expected is what the others of the house taught of a machine, reckoned once.
func (h *house) expected(machine, site record.ID) *reading.Learned {
	l, ok := h.learned[machine]
	if !ok {
		l = h.Learned(h.at[site], h.teachers[machine])
		h.learned[machine] = l
	}
	return l
}

// houseAt puts the machines of an application together. Its caller holds a.houses.mu.
func (a *App) houseAt(ctx context.Context, key houseKey) (*house, error) {
	x := &a.houses
	a.learnMu.Lock()
	order, visits := a.learned.taught(key.day)
	a.learnMu.Unlock()
	if err := a.whatCools(ctx, order); err != nil {
		return nil, err
	}
	order = slices.DeleteFunc(order, func(id record.ID) bool { return x.cools[id] != key.application.String() })
	if len(order) > mostTeachers {
		order = order[:mostTeachers]
	}
	slices.Sort(order)
	out := &house{at: map[record.ID]*diagnose.Site{}, teachers: map[record.ID]*diagnose.Teacher{}, learned: map[record.ID]*reading.Learned{}}
	bySite, names := map[record.ID][]*diagnose.Teacher{}, map[record.ID]string{}
	for _, id := range order {
		p, err := a.pupil(ctx, id)
		if err != nil {
			return nil, err
		}
		t, name := a.teacher(p, key.application, visits[id])
		if t == nil {
			continue
		}
		out.teachers[id] = t
		bySite[p.site] = append(bySite[p.site], t)
		names[p.site] += string(id) + " " + name + "\n"
	}
	var sites []*diagnose.Site
	for _, id := range slices.Sorted(maps.Keys(bySite)) {
		s := x.sites[names[id]]
		if s == nil {
			s = diagnose.NewSite(bySite[id])
			x.sites[names[id]] = s
		}
		out.at[id] = s
		sites = append(sites, s)
	}
	out.House = diagnose.NewHouse(key.application, sites)
	if len(x.of) > 2000 {
		clear(x.of)
	}
	x.of[key] = out
	return out, nil
}

// whatCools reads the applications of machines not read before.
func (a *App) whatCools(ctx context.Context, machines []record.ID) error {
	x := &a.houses
	var ask []record.ID
	for _, id := range machines {
		if _, ok := x.cools[id]; !ok {
			ask = append(ask, id)
		}
	}
	for part := range slices.Chunk(ask, 500) {
		cards, _, err := a.store.Cards(ctx, CardQuery{Machines: part, Limit: len(part)})
		if err != nil {
			return err
		}
		for _, id := range part {
			x.cools[id] = ""
		}
		for _, c := range cards {
			x.cools[c.Machine] = c.Body.Application
		}
	}
	return nil
}

// pupil reads a machine that teaches; one that cannot be read teaches nothing.
func (a *App) pupil(ctx context.Context, id record.ID) (*pupil, error) {
	if p := a.houses.pupils[id]; p != nil {
		return p, nil
	}
	p := &pupil{teachers: map[string]*diagnose.Teacher{}}
	s, err := a.read(ctx, id)
	var refused *fail.Error
	switch {
	case errors.As(err, &refused):
	case err != nil:
		return nil, err
	default:
		p.site, p.visits = s.machine.Site, s.machine.Healthies()
	}
	a.houses.pupils[id] = p
	return p, nil
}

// teacher is what a machine teaches by some of its visits: of the last three, as when it is judged itself. The name says which.
func (a *App) teacher(p *pupil, cools reading.Application, by []record.ID) (*diagnose.Teacher, string) {
	var sheets []reading.Sheet
	var names []string
	for _, v := range p.visits {
		if slices.Contains(by, v.Visit) {
			sheets, names = append(sheets, v.Sheet), append(names, string(v.Visit))
		}
	}
	if n := len(sheets); n > record.HealthyCount {
		sheets, names = sheets[n-record.HealthyCount:], names[n-record.HealthyCount:]
	}
	name := strings.Join(names, " ")
	if t, ok := p.teachers[name]; ok {
		return t, name
	}
	p.teachers[name] = nil
	cat, err := fault.Shipped()
	if err != nil || len(sheets) == 0 {
		return nil, name
	}
	fit, err := a.Fit(sheets[0].Machine.Refrigerant)
	if err != nil {
		return nil, name
	}
	if l, ok := diagnose.LessonOf(sheets, fit, &cat); ok && l != (diagnose.Lesson{}) {
		p.teachers[name] = diagnose.NewTeacher(cools, l)
	}
	return p.teachers[name], name
}

// TaughtApplication is what the machines of an application taught, all of them and those of each site.
type TaughtApplication struct {
	Application reading.Application
	Usual       reading.Learned // of a machine at a site where nobody taught
	Sites       []TaughtSite
}

// TaughtSite is what is usual at a site.
type TaughtSite struct {
	Site  record.ID
	Name  string
	Usual reading.Learned
}

// TaughtMachine is a machine that teaches, or would: Aside is the event that set it aside, empty: none.
type TaughtMachine struct {
	Machine, Site  record.ID
	Name, SiteName string
	Application    reading.Application
	Visits         []record.ID // the newest first
	Last           time.Time   // when the newest was kept as healthy
	Aside          record.ID
}

// Taught is what machines have taught about each other until now, the applications with most machines first, and of the
// machines at most limit, those met healthy last. Total counts them all.
//
//   - errors: the store fails
//   - source: [diagnose.NewHouse]
func (a *App) Taught(ctx context.Context, limit int) (out []TaughtApplication, machines []TaughtMachine, total int, err error) {
	if err := a.catchUp(ctx); err != nil {
		return nil, nil, 0, err
	}
	x := &a.houses
	x.mu.Lock()
	defer x.mu.Unlock()
	x.follow(&a.learned, &a.learnMu)
	now := a.Now().Add(time.Second)
	a.learnMu.Lock()
	aside := map[record.ID]record.ID{}
	for event, machine := range a.learned.aside {
		if !a.learned.gone[event] {
			aside[machine] = event
		}
	}
	at := map[record.ID]int{}
	for _, h := range a.learned.holding() {
		i, ok := at[h.Machine]
		if !ok {
			i = len(machines)
			at[h.Machine] = i
			machines = append(machines, TaughtMachine{Machine: h.Machine, Last: h.At, Aside: aside[h.Machine]})
		}
		machines[i].Visits = append(machines[i].Visits, h.Visit)
	}
	a.learnMu.Unlock()
	ids := make([]record.ID, len(machines))
	for i := range machines {
		ids[i] = machines[i].Machine
	}
	cards := map[record.ID]Card{}
	for part := range slices.Chunk(ids, 500) {
		got, _, err := a.store.Cards(ctx, CardQuery{Machines: part, Limit: len(part)})
		if err != nil {
			return nil, nil, 0, err
		}
		for _, c := range got {
			cards[c.Machine] = c
		}
	}
	count, names := map[reading.Application]int{}, map[record.ID]string{}
	for i := range machines {
		m, c := &machines[i], cards[machines[i].Machine]
		m.Site, m.Name, m.SiteName = c.Site.ID, c.Body.Name, c.Site.Name
		m.Application, _ = reading.ParseApplication(c.Body.Application)
		names[m.Site] = m.SiteName
		if m.Aside == "" {
			count[m.Application]++
		}
	}
	delete(count, reading.ApplicationUnknown)
	for cools := range count {
		h, err := a.houseAt(ctx, houseKey{cools, now})
		if err != nil {
			return nil, nil, 0, err
		}
		delete(x.of, houseKey{cools, now}) // until now is no day
		l := h.Learned(nil, nil)
		if l == nil {
			continue
		}
		one := TaughtApplication{Application: cools, Usual: *l}
		for site, s := range h.at {
			one.Sites = append(one.Sites, TaughtSite{site, names[site], *h.Learned(s, nil)})
		}
		slices.SortFunc(one.Sites, func(x, y TaughtSite) int {
			if c := y.Usual.Here - x.Usual.Here; c != 0 {
				return c
			}
			return strings.Compare(x.Name+string(x.Site), y.Name+string(y.Site))
		})
		out = append(out, one)
	}
	slices.SortFunc(out, func(x, y TaughtApplication) int {
		if c := y.Usual.Machines - x.Usual.Machines; c != 0 {
			return c
		}
		return int(x.Application) - int(y.Application)
	})
	total = len(machines)
	return out, machines[:min(limit, total)], total, nil
}

// SetLessonAside lets a machine no longer teach others what is usual; its own healthy visits go on to be its own. Taking
// the event back undoes it. Once it is set aside nothing more happens.
func (a *App) SetLessonAside(ctx context.Context, act Act, machine record.ID) error {
	return a.onMachine(ctx, act, machine, func(d *decision) error {
		if d.machine.Aside != "" {
			return nil
		}
		return d.put(record.LessonSetAside, record.EmptyBody{})
	})
}

// TakeLessonBack lets it teach again.
func (a *App) TakeLessonBack(ctx context.Context, act Act, machine, event record.ID) error {
	return a.onMachine(ctx, act, machine, func(d *decision) error {
		if event == "" || d.machine.Aside != event {
			return notFound("entry")
		}
		return d.put(record.Withdrawn, takenBack(event))
	})
}
