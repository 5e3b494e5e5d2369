package ledger

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"time"

	"coldwright/fail"
)

// Holder is the kind of an account.
type Holder string

// The holders. Supplier, Reclaimer, Atmosphere, Destroyed and Difference stand for the world outside.
const (
	Cylinder   Holder = "cylinder"
	Machine    Holder = "machine"
	Supplier   Holder = "supplier"
	Reclaimer  Holder = "reclaimer"
	Atmosphere Holder = "atmosphere" // leaked, or gone nobody knows where
	Destroyed  Holder = "destroyed"
	Difference Holder = "difference" // what weighing found more or less than the book said
)

// Account is who holds refrigerant: a cylinder by its number, a machine by its id, the others by name or none.
type Account struct {
	Holder Holder `json:"holder"`
	Name   string `json:"name,omitempty"`
}

func (a Account) String() string {
	if a.Name == "" {
		return string(a.Holder)
	}
	return string(a.Holder) + " " + a.Name
}

// Kind is what an entry records.
type Kind string

// The kinds.
const (
	Bought    Kind = "bought"    // a cylinder came full
	Opening   Kind = "opening"   // what a machine or cylinder held when the record began
	Charge    Kind = "charge"    // into an empty machine: new, or after a repair
	TopUp     Kind = "top_up"    // into a machine that was short
	Recover   Kind = "recover"   // out of a machine
	Transfer  Kind = "transfer"  // cylinder to cylinder
	Heel      Kind = "heel"      // what was left in a cylinder, taken out or sent away before it is given up
	SentAway  Kind = "sent_away" // to a reclaimer, or back to the supplier
	Destroy   Kind = "destroy"
	Loss      Kind = "loss"      // leaked: found, or shown by a top-up
	Counted   Kind = "counted"   // a cylinder was weighed: the difference to the book is booked
	Withdrawn Kind = "withdrawn" // the corrected entry never happened; nothing moves
)

type way struct{ from, to []Holder }

// ways lists from whom to whom each kind moves.
var ways = map[Kind]way{
	Bought:   {[]Holder{Supplier}, []Holder{Cylinder}},
	Opening:  {[]Holder{Supplier}, []Holder{Machine, Cylinder}},
	Charge:   {[]Holder{Cylinder}, []Holder{Machine}},
	TopUp:    {[]Holder{Cylinder}, []Holder{Machine}},
	Recover:  {[]Holder{Machine}, []Holder{Cylinder}},
	Transfer: {[]Holder{Cylinder}, []Holder{Cylinder}},
	Heel:     {[]Holder{Cylinder}, []Holder{Cylinder, Reclaimer, Destroyed}},
	SentAway: {[]Holder{Cylinder}, []Holder{Reclaimer, Supplier}},
	Destroy:  {[]Holder{Cylinder, Reclaimer}, []Holder{Destroyed}},
	Loss:     {[]Holder{Machine, Cylinder}, []Holder{Atmosphere}},
	Counted:  {[]Holder{Difference}, []Holder{Cylinder}},
}

// Entry moves grams of one refrigerant from one account to another.
type Entry struct {
	ID          string    `json:"id"`
	At          time.Time `json:"at"`
	Device      string    `json:"device,omitempty"`
	Seq         int64     `json:"seq,omitempty"`
	Site        string    `json:"site,omitempty"`
	Kind        Kind      `json:"kind"`
	Refrigerant string    `json:"refrigerant,omitempty"`
	From        Account   `json:"from"`
	To          Account   `json:"to"`
	Grams       int64     `json:"grams"`
	Corrects    string    `json:"corrects,omitempty"` // id of the entry in whose place this one stands
	Note        string    `json:"note,omitempty"`
	// Content is what a cylinder was weighed to hold, of a Counted entry only. Its grams are worked out when the book
	// is settled: what is needed to bring the cylinder from what the book says at that moment to Content, out of the
	// difference account or, when some is missing, into it.
	Content int64 `json:"content,omitempty"`
}

// most is more than any cylinder or machine of this trade holds; it keeps sums far from overflow.
const most = 1_000_000_000

// Check refuses an entry that cannot be booked.
//
//   - in: one entry
//   - out: nil when it can be booked
//   - errors: [*fail.Error] naming the field
//   - source: definition
func (e Entry) Check() error {
	switch {
	case e.ID == "":
		return fail.Of(fail.Required, "id", "ledger.id_missing", nil)
	case e.At.IsZero():
		return fail.Of(fail.Required, "at", "ledger.at_missing", nil)
	case e.Corrects == e.ID:
		return fail.Of(fail.BadValue, "corrects", "ledger.corrects_itself", nil)
	}
	if e.Kind == Withdrawn {
		if e.Corrects == "" || e.Grams != 0 || e.From != (Account{}) || e.To != (Account{}) {
			return fail.Of(fail.BadValue, "kind", "ledger.withdrawal", nil)
		}
		return nil
	}
	w, ok := ways[e.Kind]
	switch {
	case !ok:
		return fail.Of(fail.BadValue, "kind", "ledger.kind", fail.Args{"kind": e.Kind})
	case !slices.Contains(w.from, e.From.Holder):
		return fail.Of(fail.BadValue, "from", "ledger.from",
			fail.Args{"kind": e.Kind, "holder": e.From.Holder, "from": w.from})
	case !slices.Contains(w.to, e.To.Holder):
		return fail.Of(fail.BadValue, "to", "ledger.to",
			fail.Args{"kind": e.Kind, "holder": e.To.Holder, "to": w.to})
	case e.From == e.To:
		return fail.Of(fail.BadValue, "to", "ledger.same_account", nil)
	case e.Refrigerant == "":
		return fail.Of(fail.Required, "refrigerant", "ledger.refrigerant_missing", nil)
	case e.Kind == Counted && (e.Grams != 0 || e.Content < 0 || e.Content > most):
		return fail.Of(fail.BadValue, "content", "ledger.content", fail.Args{"grams": e.Content})
	case e.Kind != Counted && e.Content != 0:
		return fail.Of(fail.BadValue, "content", "ledger.content_counted", nil)
	case e.Kind != Counted && (e.Grams <= 0 || e.Grams > most):
		return fail.Of(fail.BadValue, "grams", "ledger.grams", fail.Args{"grams": e.Grams})
	}
	for field, a := range map[string]Account{"from": e.From, "to": e.To} {
		if a.Name == "" && (a.Holder == Cylinder || a.Holder == Machine) {
			return fail.Of(fail.BadValue, field, "ledger.which", fail.Args{"holder": a.Holder})
		}
	}
	return nil
}

func compare(a, b Entry) int {
	return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Device, b.Device), cmp.Compare(a.Seq, b.Seq), cmp.Compare(a.ID, b.ID))
}

// Findings of a book.
const (
	NegativeBalance = "negative_balance" // a cylinder or machine gave more than it ever got, and not for less than a day
	MixedCylinder   = "mixed_cylinder"   // a cylinder got two refrigerants: it cannot be reclaimed
	Contested       = "contested"        // two corrections of one entry; the last holds
	Orphan          = "orphan"           // a correction of an entry that is not here
	Circular        = "circular"         // corrections that name each other in a ring; none of them is booked
)

// Finding is something a person should look at.
type Finding struct {
	Code        string  `json:"code"`
	Account     Account `json:"account,omitzero"`
	Refrigerant string  `json:"refrigerant,omitempty"`
	Entry       string  `json:"entry,omitempty"`
	Grams       int64   `json:"grams,omitempty"`
}

// Book is a set of entries with its corrections settled. Immutable.
type Book struct {
	all      []Entry // in order
	holds    []bool  // all[i] is booked
	held     []Entry // those that are booked, in order, with the grams of what was counted
	findings []Finding
}

// New settles a set of entries: each id once, in order, with corrections in the place of what they correct.
//
//   - in: entries in any order, repeated ids allowed when they are the same entry (the first by order stays)
//   - out: the book; the same set always gives the same book
//   - errors: [*fail.Error] of the first entry that cannot be booked
//   - source: definition
//   - cost: n log n
func New(entries []Entry) (*Book, error) {
	all := slices.Clone(entries)
	slices.SortStableFunc(all, compare)
	seen := map[string]int{}
	b := &Book{}
	for _, e := range all {
		if err := e.Check(); err != nil {
			return nil, fmt.Errorf("entry %q: %w", e.ID, err)
		}
		if _, twice := seen[e.ID]; !twice {
			seen[e.ID] = len(b.all)
			b.all = append(b.all, e)
		}
	}
	b.holds = make([]bool, len(b.all))
	// Every chain of corrections leads to one first entry (or to an id that is not here). Of its ends, the last by order holds.
	ends := map[string]int{}
	corrected := map[string]bool{}
	for _, e := range b.all {
		if e.Corrects != "" {
			corrected[e.Corrects] = true
		}
	}
	for i, e := range b.all {
		root, ring := b.root(e, seen)
		if ring {
			b.findings = append(b.findings, Finding{Code: Circular, Entry: e.ID})
			continue
		}
		if e.Corrects != "" {
			if _, here := seen[e.Corrects]; !here {
				b.findings = append(b.findings, Finding{Code: Orphan, Entry: e.ID})
			}
		}
		if corrected[e.ID] {
			continue
		}
		if old, taken := ends[root]; taken {
			b.holds[old] = false
			b.findings = append(b.findings, Finding{Code: Contested, Entry: b.all[old].ID})
		}
		ends[root] = i
		b.holds[i] = e.Kind != Withdrawn
	}
	b.settle()
	b.look()
	return b, nil
}

// settle gathers the entries that hold and works out what each count found more or less than the book said.
func (b *Book) settle() {
	running := map[place]int64{}
	for i, e := range b.all {
		if !b.holds[i] {
			continue
		}
		if e.Kind == Counted {
			e.Grams = e.Content - running[place{e.To, e.Refrigerant}]
			if e.Grams < 0 {
				e.From, e.To, e.Grams = e.To, e.From, -e.Grams
			}
		}
		running[place{e.From, e.Refrigerant}] -= e.Grams
		running[place{e.To, e.Refrigerant}] += e.Grams
		b.held = append(b.held, e)
	}
}

// root follows corrections to the first entry; ring reports that they never end.
func (b *Book) root(e Entry, seen map[string]int) (root string, ring bool) {
	for range len(b.all) + 1 {
		if e.Corrects == "" {
			return e.ID, false
		}
		i, here := seen[e.Corrects]
		if !here {
			return e.Corrects, false
		}
		e = b.all[i]
	}
	return "", true
}

// Entries returns the entries that hold, in order. A count stands there as what it found more or less than the book said, 0 g when nothing.
func (b *Book) Entries() []Entry { return slices.Clone(b.held) }

// All returns every entry in order as it was entered, with those that were corrected.
func (b *Book) All() []Entry { return slices.Clone(b.all) }

// Findings returns what a person should look at.
func (b *Book) Findings() []Finding { return slices.Clone(b.findings) }

// Balance is what an account holds of one refrigerant.
type Balance struct {
	Account     Account `json:"account"`
	Refrigerant string  `json:"refrigerant"`
	Grams       int64   `json:"grams"`
}

type place struct {
	a Account
	r string
}

func sum(entries []Entry) map[place]int64 {
	m := map[place]int64{}
	for _, e := range entries {
		m[place{e.From, e.Refrigerant}] -= e.Grams
		m[place{e.To, e.Refrigerant}] += e.Grams
	}
	return m
}

// Balances returns what every account holds after the entries up to and including an instant, zero balances included;
// a zero time is all of them.
//
//   - out: grams, sorted by refrigerant, holder and name; for every refrigerant they add up to zero
//   - source: definition (double entry)
func (b *Book) Balances(until time.Time) []Balance {
	var held []Entry
	for _, e := range b.held {
		if until.IsZero() || !e.At.After(until) {
			held = append(held, e)
		}
	}
	var out []Balance
	for p, g := range sum(held) {
		out = append(out, Balance{p.a, p.r, g})
	}
	slices.SortFunc(out, func(x, y Balance) int {
		return cmp.Or(
			cmp.Compare(x.Refrigerant, y.Refrigerant),
			cmp.Compare(x.Account.Holder, y.Account.Holder),
			cmp.Compare(x.Account.Name, y.Account.Name),
		)
	})
	return out
}

// sameDay is how long a balance may stand below zero without a finding: things are written down by the day, and clocks of two sites differ.
const sameDay = 24 * time.Hour

// look collects findings about balances.
func (b *Book) look() {
	type low struct {
		i     int // the entry that brought it below zero
		grams int64
	}
	got := map[Account]string{}
	running := map[place]int64{}
	weights := map[place]int64{} // entries so far
	open := map[place]low{}
	said := map[place]bool{}
	mixed := map[Account]bool{}
	at := map[int]Finding{} // by the entry they stand at
	say := func(p place, l low) {
		said[p] = true
		at[2*l.i] = Finding{Code: NegativeBalance, Account: p.a, Refrigerant: p.r, Entry: b.held[l.i].ID, Grams: l.grams}
	}
	for i, e := range b.held {
		from, to := place{e.From, e.Refrigerant}, place{e.To, e.Refrigerant}
		running[from] -= e.Grams
		running[to] += e.Grams
		weights[from]++
		weights[to]++
		// Every weight came to whole grams by itself, half a gram off at most.
		if _, is := open[from]; !is && !said[from] && (e.From.Holder == Cylinder || e.From.Holder == Machine) &&
			2*running[from] < -weights[from] {
			open[from] = low{i, running[from]}
		}
		if l, is := open[to]; is && 2*running[to] >= -weights[to] {
			if e.At.Sub(b.held[l.i].At) > sameDay {
				say(to, l)
			}
			delete(open, to)
		}
		if e.To.Holder == Cylinder && e.Kind != Counted {
			if other, ok := got[e.To]; ok && other != e.Refrigerant && !mixed[e.To] {
				mixed[e.To] = true
				at[2*i+1] = Finding{Code: MixedCylinder, Account: e.To, Refrigerant: e.Refrigerant, Entry: e.ID}
			}
			got[e.To] = e.Refrigerant
		}
	}
	for p, l := range open {
		say(p, l)
	}
	for _, i := range slices.Sorted(maps.Keys(at)) {
		b.findings = append(b.findings, at[i])
	}
}

// Total is one refrigerant's way through the house, grams.
type Total struct {
	Refrigerant string `json:"refrigerant"`
	Bought      int64  `json:"bought"` // from suppliers, opening holdings included, less what went back
	InCylinders int64  `json:"in_cylinders"`
	InMachines  int64  `json:"in_machines"`
	Charged     int64  `json:"charged"`   // into machines: charges and top-ups
	Recovered   int64  `json:"recovered"` // out of machines
	Lost        int64  `json:"lost"`
	Reclaimed   int64  `json:"reclaimed"`
	Destroyed   int64  `json:"destroyed"`
	Missing     int64  `json:"missing"` // found missing at weighing, less what was found too much
}

// Totals returns one line per refrigerant: bought = in cylinders + in machines + lost + reclaimed + destroyed + missing.
func (b *Book) Totals() []Total { return totals(b.held) }

func totals(entries []Entry) []Total {
	by := map[string]*Total{}
	for _, e := range entries {
		t := by[e.Refrigerant]
		if t == nil {
			t = &Total{Refrigerant: e.Refrigerant}
			by[e.Refrigerant] = t
		}
		switch e.Kind {
		case Charge, TopUp:
			t.Charged += e.Grams
		case Recover:
			t.Recovered += e.Grams
		}
		add := func(a Account, g int64) {
			switch a.Holder {
			case Supplier:
				t.Bought -= g
			case Cylinder:
				t.InCylinders += g
			case Machine:
				t.InMachines += g
			case Atmosphere:
				t.Lost += g
			case Reclaimer:
				t.Reclaimed += g
			case Destroyed:
				t.Destroyed += g
			case Difference:
				t.Missing += g
			}
		}
		add(e.From, -e.Grams)
		add(e.To, e.Grams)
	}
	var out []Total
	for _, t := range by {
		out = append(out, *t)
	}
	slices.SortFunc(out, func(x, y Total) int { return cmp.Compare(x.Refrigerant, y.Refrigerant) })
	return out
}
