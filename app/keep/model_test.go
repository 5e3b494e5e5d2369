package keep_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/fail"
	"coldwright/record"
)

// histories are drawn in a usual run; COLDWRIGHT_HISTORIES asks for more.
const histories = 200

// jumps are how far a clock goes between two things that are done.
var jumps = []time.Duration{
	time.Second, time.Minute, time.Minute, time.Hour, 0, -time.Second, 24 * time.Hour, -24 * time.Hour, 365 * 24 * time.Hour,
	-365 * 24 * time.Hour,
}

// fact is an event as the reference knows it: what it says, which event it takes back, and what its writer knew.
type fact struct {
	kind           record.Kind
	machine, visit record.ID
	grams          int64
	name, cylinder string
	gone           record.ID
	knew           map[record.ID]bool // saved names that its writer had before it
}

// place is one database with the clock of the people who use it.
type place struct {
	s    *app.MemStore
	a    *app.App
	now  time.Time
	have map[record.ID]bool
	last int64 // cursor
}

// model is what should be there, kept beside the program and written without it.
type model struct {
	t        *testing.T
	seed     uint64
	step     int
	rng      *rand.Rand
	places   []*place
	facts    map[record.ID]*fact
	site     record.ID
	machines []record.ID
	did      []string
}

func (m *model) fatalf(format string, args ...any) {
	m.t.Helper()
	m.t.Fatalf("history %d, step %d (%s): %s", m.seed, m.step, strings.Join(m.did[max(0, len(m.did)-12):], ", "), fmt.Sprintf(format, args...))
}

// learn takes what is new in a database into the reference, from its log alone.
func (m *model) learn(p *place) (fresh []record.ID) {
	events, next, err := p.s.Since(context.Background(), p.last, 1<<30)
	if err != nil {
		m.fatalf("%v", err)
	}
	p.last = next
	for _, e := range events {
		if p.have[e.ID] {
			m.fatalf("event %s came twice", e.ID)
		}
		if m.facts[e.ID] == nil {
			var b struct {
				Grams          int64
				Name, Cylinder string
			}
			if err := json.Unmarshal(e.Body, &b); err != nil {
				m.fatalf("%v", err)
			}
			f := &fact{kind: e.Kind, machine: e.Machine, visit: e.Visit, grams: b.Grams, name: b.Name, cylinder: b.Cylinder, gone: e.Corrects}
			if e.Kind == record.GasMoved && strings.Contains(string(e.Body), `"recovered"`) {
				f.grams = -f.grams
			}
			if e.Kind == record.MachineSaved {
				f.knew = maps.Clone(p.have)
			}
			m.facts[e.ID] = f
		}
		p.have[e.ID] = true
		fresh = append(fresh, e.ID)
	}
	return fresh
}

// want is what the facts that a database has add up to, of one machine.
type want struct {
	grams          int64
	notes          int
	visits, closed map[record.ID]bool
	moves          map[record.ID]int64
	confirmed      map[record.ID]int
	names          map[string]bool // that nobody who knew them has replaced
}

func (m *model) want(p *place, machine record.ID) want {
	w := want{
		visits: map[record.ID]bool{}, closed: map[record.ID]bool{}, moves: map[record.ID]int64{}, confirmed: map[record.ID]int{},
		names: map[string]bool{},
	}
	gone := map[record.ID]bool{}
	for id := range p.have {
		if g := m.facts[id].gone; g != "" {
			gone[g] = true
		}
	}
	for id := range p.have {
		f := m.facts[id]
		if f.machine != machine || gone[id] || f.kind == record.Withdrawn {
			continue
		}
		if f.visit != "" {
			w.visits[f.visit] = true
		}
		switch f.kind {
		case record.GasMoved:
			w.grams += f.grams
			w.moves[f.visit] += f.grams
		case record.Noted:
			w.notes++
		case record.VisitClosed:
			w.closed[f.visit] = true
		case record.CauseConfirmed:
			w.confirmed[f.visit]++
		case record.MachineSaved:
			replaced := false
			for other := range p.have {
				g := m.facts[other]
				replaced = replaced || g.kind == record.MachineSaved && g.machine == machine && g.knew[id]
			}
			if !replaced {
				w.names[f.name] = true
			}
		}
	}
	return w
}

// check holds what the program makes of its log against the reference.
func (m *model) check(p *place) {
	m.t.Helper()
	for _, id := range m.machines {
		events, err := p.s.MachineEvents(context.Background(), id)
		if err != nil {
			m.fatalf("%v", err)
		}
		got, ok := record.ProjectMachine(events)
		w := m.want(p, id)
		if !ok {
			if len(w.names) > 0 {
				m.fatalf("the machine is gone")
			}
			continue
		}
		if !w.names[got.Name] {
			m.fatalf("it is called %q, which was replaced; those that hold: %v", got.Name, slices.Sorted(maps.Keys(w.names)))
		}
		grams, notes, visits := int64(0), 0, 0
		for _, v := range got.Visits {
			visits++
			notes += len(v.Notes)
			moved := int64(0)
			for _, g := range v.Moves {
				if g.Direction == "recovered" {
					moved -= g.Grams
				} else {
					moved += g.Grams
				}
			}
			grams += moved
			if moved != w.moves[v.ID] {
				m.fatalf("visit %s moved %d g, want %d", v.ID, moved, w.moves[v.ID])
			}
			if w.closed[v.ID] == v.Closed.IsZero() {
				m.fatalf("visit %s: closed %v, want %v", v.ID, v.Closed, w.closed[v.ID])
			}
			if (v.Confirmed != "") != (w.confirmed[v.ID] > 0) {
				m.fatalf("visit %s: confirmed %q, want %d", v.ID, v.Confirmed, w.confirmed[v.ID])
			}
		}
		if grams != w.grams || notes != w.notes || visits != len(w.visits) {
			m.fatalf("%d g, %d notes, %d visits, want %d, %d, %d", grams, notes, visits, w.grams, w.notes, len(w.visits))
		}
		if got.Unread > 0 {
			m.fatalf("%d entries cannot be read", got.Unread)
		}
	}
}

// kindsOf counts the kinds of some events.
func (m *model) kindsOf(ids []record.ID) map[record.Kind]int {
	out := map[record.Kind]int{}
	for _, id := range ids {
		out[m.facts[id].kind]++
	}
	return out
}

// visit is a visit of a machine in a database, open if there is one that is.
func (m *model) visit(p *place, machine record.ID) (id record.ID, open bool) {
	w := m.want(p, machine)
	all := slices.Sorted(maps.Keys(w.visits))
	m.rng.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	for _, v := range all {
		if !w.closed[v] {
			return v, true
		}
		id = v
	}
	return id, false
}

// unbooked counts the cylinders of a visit that were weighed before and after and stand in no book here: where only the
// looks at the scale were carried, the booking is still to do.
func (m *model) unbooked(p *place, visit record.ID) (n int) {
	looks, booked := map[string]int{}, map[string]bool{}
	for id := range p.have {
		switch f := m.facts[id]; {
		case f.visit != visit:
		case f.kind == record.ScaleRead:
			looks[f.cylinder]++
		case f.kind == record.GasMoved:
			booked[f.cylinder] = true
		}
	}
	for c, k := range looks {
		if k == 2 && !booked[c] {
			n++
		}
	}
	return n
}

// do does one thing in one place, as a form that may be sent twice.
func (m *model) do(p *place) {
	ctx := context.Background()
	form, err := p.a.NewID()
	if err != nil {
		m.fatalf("%v", err)
	}
	act := app.Act{By: fmt.Sprint("hand ", m.rng.IntN(3)), Form: string(form)}
	machine := m.machines[m.rng.IntN(len(m.machines))]
	visit, open := m.visit(p, machine)
	w := m.want(p, machine)
	var what string
	var run func() error
	one, refused := map[record.Kind]int{}, false // what it adds; it is refused
	switch k := m.rng.IntN(12); {
	case k == 0 || len(w.names) == 0:
		name := fmt.Sprintf("Freezer %d", m.step)
		what, one = "plate", map[record.Kind]int{record.MachineSaved: 1}
		run = func() error {
			_, err := p.a.SaveMachine(ctx, act, m.site, machine, record.MachineBody{
				Name: name, Refrigerant: "R-404A", Application: "walk-in freezer",
			})
			return err
		}
	case k < 3 || visit == "":
		what = "open"
		if !open {
			one[record.VisitOpened] = 1
		}
		run = func() error { _, err := p.a.OpenVisit(ctx, act, machine, "warm"); return err }
	case k < 5:
		what, refused = "note", !open
		one[record.Noted] = 1
		run = func() error {
			return p.a.SaveNote(ctx, act, visit, record.Where{}, fmt.Sprint("note ", m.step), false, "")
		}
	case k < 7:
		what, refused = "gas", !open
		one[record.GasMoved] = 1
		way, grams := []string{"added", "recovered"}[m.rng.IntN(2)], strconv.Itoa(1+m.rng.IntN(900))
		run = func() error { return p.a.MoveGas(ctx, act, visit, way, grams, "g", "C-1", "") }
	case k < 8:
		// Weighed twice and booked twice: once in the book.
		what, refused = "book", !open
		one[record.ScaleRead], one[record.GasMoved] = 2, 1+m.unbooked(p, visit)
		cylinder := fmt.Sprint("S-", m.step)
		run = func() error {
			for i, gross := range []string{"9000", "8500"} {
				again := act
				again.Form = fmt.Sprintf("%s%d", act.Form[:35], i)
				if err := p.a.AddScale(ctx, again, visit, app.ScaleEntry{Cylinder: cylinder, Gross: gross, Unit: "g"}); err != nil {
					return err
				}
			}
			for range 2 {
				if err := p.a.BookCharge(ctx, app.Act{By: act.By}, visit); err != nil {
					return err
				}
			}
			return nil
		}
	case k < 9:
		what, refused = "confirm", !open
		if w.confirmed[visit] == 0 {
			one[record.CauseConfirmed] = 1
		}
		// The causes are one and the same: said again it adds nothing. It may be said of a closed visit.
		if refused {
			refused = false
		}
		run = func() error { return p.a.Confirm(ctx, act, visit, "low_charge") }
	case k < 10:
		what, refused = "close", !open
		one[record.VisitClosed] = 1
		run = func() error { return p.a.CloseVisit(ctx, act, visit, record.CloseBody{Mechanic: "R. Lind"}) }
	default:
		var can []record.ID
		gone := map[record.ID]bool{}
		for id := range p.have {
			gone[m.facts[id].gone] = true
		}
		for id := range p.have {
			if f := m.facts[id]; f.machine == machine && (f.kind == record.Noted || f.kind == record.GasMoved && f.cylinder == "C-1") && !gone[id] {
				can = append(can, id)
			}
		}
		if len(can) == 0 {
			return
		}
		slices.Sort(can)
		id := can[m.rng.IntN(len(can))]
		what = "take back"
		one[record.Withdrawn] = 1
		run = func() error { return p.a.Withdraw(ctx, act, m.facts[id].visit, id) }
	}
	m.did = append(m.did, what)
	err = run()
	fresh := m.kindsOf(m.learn(p))
	switch {
	case refused && (fail.CodeOf(err) != fail.Conflict || len(fresh) > 0):
		m.fatalf("%s on a closed visit: %v, %v", what, err, fresh)
	case !refused && err != nil:
		m.fatalf("%s: %v", what, err)
	case !refused && !maps.Equal(fresh, one):
		m.fatalf("%s added %v, want %v", what, fresh, one)
	}
	if m.rng.IntN(3) == 0 && !refused && what != "book" {
		_ = run() // the same form again: told or passed over, nothing is added
		if again := m.learn(p); len(again) > 0 {
			m.fatalf("%s, sent again, added %v", what, m.kindsOf(again))
		}
	}
}

// carry brings a part of what one database holds into another, twice.
func (m *model) carry(from, to *place, all bool) {
	ctx := context.Background()
	var lines [][]byte
	if err := keep.Export(ctx, from.a, func(line []byte) error {
		if all || m.rng.IntN(4) > 0 {
			lines = append(lines, bytes.Clone(line))
		}
		return nil
	}); err != nil {
		m.fatalf("%v", err)
	}
	for turn := range 2 {
		plan, err := keep.PlanImport(ctx, to.a, bytes.NewReader(bytes.Join(lines, nil)))
		if err != nil {
			m.fatalf("%v", err)
		}
		if plan.Added+plan.Known+len(plan.Rejected) != len(lines) || turn == 1 && plan.Added > 0 || all && len(plan.Rejected) > 0 {
			m.fatalf("turn %d: %d added, %d known, %v rejected of %d", turn, plan.Added, plan.Known, plan.Rejected, len(lines))
		}
		if err := keep.Import(ctx, to.a, app.Act{}, plan); err != nil {
			m.fatalf("%v", err)
		}
		if n := len(m.learn(to)); n != plan.Added {
			m.fatalf("%d events came, %d were planned", n, plan.Added)
		}
	}
}

func (m *model) run() {
	ctx := context.Background()
	var key [32]byte
	for i := range 2 {
		p := &place{
			s: app.NewMemStore(), now: time.Date(2030, 6, 1, 8, 0, 0, 0, time.UTC).Add(time.Duration(m.rng.IntN(100)) * time.Second),
			have: map[record.ID]bool{},
		}
		key[0], key[1], key[2] = byte(m.seed), byte(m.seed>>8), byte(i)
		p.a = app.New(p.s, app.Options{
			Now: func() time.Time { return p.now }, Rand: rand.NewChaCha8(key), Version: "test", Device: fmt.Sprint("device ", i),
		})
		m.places = append(m.places, p)
	}
	first := m.places[0]
	var err error
	if m.site, err = first.a.SaveSite(ctx, app.Act{}, "", record.SiteBody{Name: "Kitchen"}); err != nil {
		m.fatalf("%v", err)
	}
	for range 2 {
		id, err := first.a.SaveMachine(ctx, app.Act{}, m.site, "", record.MachineBody{
			Name: "Freezer", Refrigerant: "R-404A", Application: "walk-in freezer",
		})
		if err != nil {
			m.fatalf("%v", err)
		}
		m.machines = append(m.machines, id)
	}
	m.learn(first)
	m.carry(first, m.places[1], true)
	for m.step = range 30 {
		p := m.places[m.rng.IntN(2)]
		p.now = p.now.Add(jumps[m.rng.IntN(len(jumps))])
		if m.rng.IntN(8) == 0 {
			other := m.places[0]
			if p == other {
				other = m.places[1]
			}
			m.did = append(m.did, "carry")
			m.carry(p, other, false)
			p = other
		} else {
			m.do(p)
		}
		m.check(p)
	}
	// Once everything has been everywhere, and the clocks are right, both say the same.
	for _, p := range m.places {
		p.now = time.Date(2070, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	m.carry(first, m.places[1], true)
	m.carry(m.places[1], first, true)
	if !maps.Equal(first.have, m.places[1].have) {
		m.fatalf("%d and %d events after all was carried", len(first.have), len(m.places[1].have))
	}
	for _, id := range m.machines {
		var said []string
		for _, p := range m.places {
			m.check(p)
			events, err := p.s.MachineEvents(ctx, id)
			if err != nil {
				m.fatalf("%v", err)
			}
			got, _ := record.ProjectMachine(events)
			text, err := json.Marshal(got)
			if err != nil {
				m.fatalf("%v", err)
			}
			said = append(said, string(text))
		}
		if said[0] != said[1] {
			m.fatalf("the two say different things of %s:\n%s\n%s", id, said[0], said[1])
		}
	}
	// The chain of each holds.
	for _, p := range m.places {
		links := map[string]string{}
		events, _, err := p.s.Since(ctx, 0, 1<<30)
		if err != nil {
			m.fatalf("%v", err)
		}
		for _, e := range events {
			link := e.Link
			e.Prev, e.Link = "", ""
			if link != e.Hash(links[e.Device]) {
				m.fatalf("event %s is not linked to the one before it", e.ID)
			}
			links[e.Device] = link
		}
	}
}

// What several people do on several devices, with clocks that jump, double taps and parts of exports carried to and
// fro, is what a simple reference says it is, after every step.
func TestModel(t *testing.T) {
	n, from := histories, uint64(time.Now().UnixNano()%1_000_000)*1_000_000
	if v, err := strconv.Atoi(os.Getenv("COLDWRIGHT_HISTORIES")); err == nil {
		n = v
	}
	if v, err := strconv.ParseUint(os.Getenv("COLDWRIGHT_SEED"), 10, 64); err == nil {
		n, from = 1, v
	}
	for i := range n {
		seed := from + uint64(i)
		m := &model{t: t, seed: seed, rng: rand.New(rand.NewPCG(seed, 15)), facts: map[record.ID]*fact{}}
		m.run()
	}
	t.Logf("%d histories from seed %d", n, from)
}
