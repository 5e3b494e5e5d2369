package app

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"slices"
	"sort"
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
	view   *Taught // nil: to be made
	limit  int     // of view
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
	teachers map[record.ID]*diagnose.Teacher // by the visit that teaches
}

// mostTeachers is how many machines of one application teach at most: those met healthy last. Thirty teach nearly all
// there is to learn (docs/accuracy.md), and each has to be read once.
const mostTeachers = 30

// shippedOnce is the catalogue of faults as it came, read once for all lessons.
var shippedOnce = sync.OnceValues(fault.Shipped)

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

func (x *houses) clear() {
	x.sites, x.of, x.view = map[string]*diagnose.Site{}, map[houseKey]*house{}, nil
}

// asideNow are the machines whose lessons are set aside, with the event that did it. Its caller holds the App's learnMu.
func (l *learned) asideNow() map[record.ID]record.ID {
	out := map[record.ID]record.ID{}
	for event, machine := range l.aside {
		if !l.gone[event] {
			out[machine] = event
		}
	}
	return out
}

// teaching are the machines of an application that teach on a day, those met healthy last, each by its last visit kept as healthy.
func (a *App) teaching(ctx context.Context, key houseKey) (order []record.ID, visits map[record.ID]record.ID, err error) {
	a.learnMu.Lock()
	normal, aside := a.learned.holding(), a.learned.asideNow()
	a.learnMu.Unlock()
	visits = map[record.ID]record.ID{}
	i := sort.Search(len(normal), func(i int) bool { return normal[i].At.Before(key.day) })
	for block := range slices.Chunk(normal[i:], 200) {
		ids := make([]record.ID, len(block))
		for k := range block {
			ids[k] = block[k].Machine
		}
		if err := a.whatCools(ctx, ids); err != nil {
			return nil, nil, err
		}
		for _, h := range block {
			if aside[h.Machine] != "" || visits[h.Machine] != "" || a.houses.cools[h.Machine] != key.application.String() {
				continue
			}
			visits[h.Machine] = h.Visit
			if order = append(order, h.Machine); len(order) == mostTeachers {
				return order, visits, nil
			}
		}
	}
	return order, visits, nil
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
	order, visits, err := a.teaching(ctx, key)
	if err != nil {
		return nil, err
	}
	slices.Sort(order)
	out := &house{at: map[record.ID]*diagnose.Site{}, teachers: map[record.ID]*diagnose.Teacher{}, learned: map[record.ID]*reading.Learned{}}
	bySite, names := map[record.ID][]*diagnose.Teacher{}, map[record.ID]string{}
	for _, id := range order {
		p, err := a.pupil(ctx, id)
		if err != nil {
			return nil, err
		}
		t := a.teacher(p, key.application, visits[id])
		if t == nil {
			continue
		}
		out.teachers[id] = t
		bySite[p.site] = append(bySite[p.site], t)
		names[p.site] += string(id) + " " + string(visits[id]) + "\n"
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
		if _, ok := x.cools[id]; !ok && !slices.Contains(ask, id) {
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
	p := &pupil{teachers: map[record.ID]*diagnose.Teacher{}}
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

// teacher is what a machine teaches by one of its healthy visits: one is enough, and each is reckoned once.
func (a *App) teacher(p *pupil, cools reading.Application, by record.ID) *diagnose.Teacher {
	if t, ok := p.teachers[by]; ok {
		return t
	}
	p.teachers[by] = nil
	i := slices.IndexFunc(p.visits, func(v record.Healthy) bool { return v.Visit == by })
	if i < 0 {
		return nil
	}
	s := p.visits[i].Sheet
	cat, err := shippedOnce()
	if err != nil {
		return nil
	}
	fit, err := a.Fit(s.Machine.Refrigerant)
	if err != nil {
		return nil
	}
	if l, ok := diagnose.LessonOf([]reading.Sheet{s}, fit, &cat); ok && l != (diagnose.Lesson{}) {
		p.teachers[by] = diagnose.NewTeacher(cools, l)
	}
	return p.teachers[by]
}

// Taught is what machines have taught about each other until now, the applications with most machines first, and the
// machines that teach, or would.
type Taught struct {
	Usual    []TaughtApplication
	Machines []TaughtMachine // those met healthy last
	Total    int             // of machines met healthy
}

// TaughtApplication is what the machines of an application taught, all of them and those of each site, of the sites the
// ones with most of them.
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
	Machine        record.ID
	Name, SiteName string
	Application    reading.Application
	Visits         []record.ID // the newest first
	Last           time.Time   // when the newest was kept as healthy
	Aside          record.ID
}

// sitesShown is for how many sites of an application what is usual is told.
const sitesShown = 5

// Taught returns what machines have taught until now, and at most limit of them. It is reckoned again when something changes.
//
//   - errors: the store fails
//   - source: [diagnose.NewHouse]
func (a *App) Taught(ctx context.Context, limit int) (*Taught, error) {
	if err := a.catchUp(ctx); err != nil {
		return nil, err
	}
	x := &a.houses
	x.mu.Lock()
	defer x.mu.Unlock()
	x.follow(&a.learned, &a.learnMu)
	if x.view != nil && x.limit == limit {
		return x.view, nil
	}
	a.learnMu.Lock()
	normal, of, aside := a.learned.holding(), a.learned.ofMachine, a.learned.asideNow()
	a.learnMu.Unlock()
	out := &Taught{Total: len(of)}
	listed := map[record.ID]bool{}
	var ids []record.ID
	for _, h := range normal {
		if len(out.Machines) == limit {
			break
		}
		if listed[h.Machine] {
			continue
		}
		listed[h.Machine] = true
		m := TaughtMachine{Machine: h.Machine, Last: h.At, Aside: aside[h.Machine]}
		for _, v := range of[h.Machine] {
			m.Visits = append(m.Visits, v.Visit)
		}
		out.Machines, ids = append(out.Machines, m), append(ids, h.Machine)
	}
	one := map[record.ID]record.ID{} // of each site told of, a machine
	for _, word := range reading.ApplicationWords() {
		cools, err := reading.ParseApplication(word)
		if err != nil {
			return nil, err
		}
		now := houseKey{cools, a.Now().Add(time.Second)} // no day: it is not kept
		h, err := a.houseAt(ctx, now)
		if err != nil {
			return nil, err
		}
		delete(x.of, now)
		l := h.Learned(nil, nil)
		if l == nil {
			continue
		}
		u := TaughtApplication{Application: cools, Usual: *l}
		for machine := range h.teachers {
			site := x.pupils[machine].site
			if one[site] == "" || machine < one[site] {
				one[site] = machine
			}
		}
		for site, s := range h.at {
			u.Sites = append(u.Sites, TaughtSite{Site: site, Usual: *h.Learned(s, nil)})
		}
		slices.SortFunc(u.Sites, func(x, y TaughtSite) int {
			return cmp.Or(cmp.Compare(y.Usual.Here, x.Usual.Here), cmp.Compare(x.Site, y.Site))
		})
		u.Sites = u.Sites[:min(sitesShown, len(u.Sites))]
		for _, s := range u.Sites {
			ids = append(ids, one[s.Site])
		}
		out.Usual = append(out.Usual, u)
	}
	slices.SortStableFunc(out.Usual, func(x, y TaughtApplication) int { return cmp.Compare(y.Usual.Machines, x.Usual.Machines) })
	cards, _, err := a.store.Cards(ctx, CardQuery{Machines: ids, Limit: len(ids)})
	if err != nil {
		return nil, err
	}
	byID := map[record.ID]Card{}
	for _, c := range cards {
		byID[c.Machine] = c
	}
	for i := range out.Machines {
		m := &out.Machines[i]
		c := byID[m.Machine]
		m.Name, m.SiteName = c.Body.Name, c.Site.Name
		m.Application, _ = reading.ParseApplication(c.Body.Application)
	}
	for i := range out.Usual {
		for k := range out.Usual[i].Sites {
			s := &out.Usual[i].Sites[k]
			s.Name = byID[one[s.Site]].Site.Name
		}
	}
	x.view, x.limit = out, limit
	return out, nil
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
