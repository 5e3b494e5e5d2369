package app

import (
	"cmp"
	"context"
	"encoding/json"
	"maps"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"coldwright/leak"
	"coldwright/record"
	"coldwright/say/text"
)

// ListsVersion names what [Lists] makes of the log. A store whose lists were made by another version makes them
// again; raise it with every change here.
const ListsVersion = "3"

// Card is a machine as lists show it. It follows from the events alone and not from the clock, so that a store may keep it.
type Card struct {
	Machine record.ID          `json:"machine"`
	Site    record.Site        `json:"site"`
	Body    record.MachineBody `json:"body"`
	Open    *Head              `json:"open,omitempty"`
	Last    *Head              `json:"last,omitempty"` // the last closed visit
	LostG   int64              `json:"lost_g,omitempty"`
	Leak    *OpenLeak          `json:"leak,omitempty"` // not yet proven closed
	// Rank and then Key order lists by worry, smallest first; machines alike in both stand by name.
	Rank Rank    `json:"rank"`
	Key  float64 `json:"key"`
	// Events counts the machine's events: as long as it stays the same, nothing has happened.
	Events int `json:"events"`
}

// Head is what a list needs of a visit.
type Head struct {
	ID      record.ID    `json:"id"`
	Opened  time.Time    `json:"opened"`
	Closed  time.Time    `json:"closed,omitzero"`
	Healthy bool         `json:"healthy,omitempty"`
	Shown   string       `json:"shown,omitempty"`
	End     record.Phase `json:"end"` // the end that counts: where it stands while open, the last one read when closed
}

// Rank is how soon a machine needs someone.
type Rank int

// The ranks, most worrying first. Judgement.
const (
	RankOpen Rank = iota + 1
	RankNotHealthy
	RankToppedUp
	RankNeverSeen
	RankSeen
)

// year is as long as refrigerant that was added counts.
const year = 366 * 24 * time.Hour

// cardOf ranks a machine. Judgement: an open visit first, then a machine left not healthy, then refrigerant added in
// the year before the last thing that happened to it (the larger its share of the charge the sooner; without a known
// charge a tenth), then never seen, then the one not seen for longest.
func cardOf(m *record.Machine, s record.Site) Card {
	c := Card{Machine: m.ID, Site: s, Body: m.MachineBody, Rank: RankNeverSeen}
	var latest time.Time
	for _, v := range m.Visits {
		for _, t := range []time.Time{v.Opened, v.Closed} {
			if t.After(latest) {
				latest = t
			}
		}
		for _, g := range v.Moves {
			if g.At.After(latest) {
				latest = g.At
			}
		}
		h := &Head{ID: v.ID, Opened: v.Opened, Closed: v.Closed, Healthy: v.Healthy, Shown: v.Close.Shown, End: v.Phase}
		if v.Closed.IsZero() {
			c.Open = h
			continue
		}
		h.End = record.Before
		if AfterCounts(v) {
			h.End = record.After
		}
		c.Last = h
	}
	for _, v := range m.Visits {
		for _, g := range v.Moves {
			switch {
			case latest.Sub(g.At) >= year:
			case g.Direction == "added":
				c.LostG += g.Grams
			default:
				c.LostG -= g.Grams
			}
		}
	}
	c.Leak = OpenLeakOf(m, nil)
	switch {
	case c.Open != nil:
		c.Rank = RankOpen
	case c.Last == nil:
	case !c.Last.Healthy || c.Leak != nil:
		c.Rank = RankNotHealthy
	case c.LostG > 0 && !mended(m):
		share := 0.1
		if m.FullChargeG != nil && *m.FullChargeG > 0 {
			share = float64(c.LostG) / float64(*m.FullChargeG)
		}
		c.Rank, c.Key = RankToppedUp, -math.Min(share, 3)
	default:
		c.Rank, c.Key = RankSeen, float64(c.Last.Closed.Unix())
	}
	return c
}

// mended reports whether a leak was repaired and found tight at the last visit at which refrigerant went in, or since.
func mended(m *record.Machine) (yes bool) {
	for _, v := range m.Visits {
		if slices.ContainsFunc(v.Moves, func(g record.Move) bool { return g.Direction == "added" }) {
			yes = false
		}
		if slices.ContainsFunc(v.Finds, func(f record.Find) bool { return f.Stage == leak.Rechecked }) {
			yes = true
		}
	}
	return yes
}

// leakStages is how far each leak had come with a visit; nil: with the last one.
func leakStages(m *record.Machine, v *record.Visit) map[string]leak.Stage {
	out := map[string]leak.Stage{}
	for _, x := range m.Visits {
		for _, f := range x.Finds {
			out[f.Place] = f.Stage
		}
		if v != nil && x.ID == v.ID {
			break
		}
	}
	return out
}

// OpenLeak is a leak that was found and not yet proven closed.
type OpenLeak struct {
	Place    string `json:"place"`
	Repaired bool   `json:"repaired,omitempty"` // repaired, and not looked at again since
}

// OpenLeakOf is the leak of a machine that is to be worked on, of several one that was not repaired; nil: none is open.
// What one visit left open stays so until a later one closes it. v: as it stood with that visit; nil: as it stands now.
func OpenLeakOf(m *record.Machine, v *record.Visit) *OpenLeak {
	var out *OpenLeak
	stages := leakStages(m, v)
	for _, place := range slices.Sorted(maps.Keys(stages)) {
		stage := stages[place]
		if x := (OpenLeak{place, stage == leak.Repaired}); stage.Open() && (out == nil || out.Repaired && !x.Repaired) {
			out = &x
		}
	}
	return out
}

// Compare orders cards by worry.
func (c *Card) Compare(o *Card) int {
	return cmp.Or(
		cmp.Compare(c.Rank, o.Rank),
		cmp.Compare(c.Key, o.Key),
		cmp.Compare(c.Body.Name, o.Body.Name),
		cmp.Compare(c.Machine, o.Machine),
	)
}

// row is the card as a row today.
func (c *Card) row(now time.Time) MachineRow {
	head := func(h *Head) *record.Visit {
		if h == nil {
			return nil
		}
		return &record.Visit{
			ID:      h.ID,
			Machine: c.Machine,
			Site:    c.Site.ID,
			Opened:  h.Opened,
			Closed:  h.Closed,
			Healthy: h.Healthy,
			Phase:   h.End,
			Close:   record.CloseBody{Shown: h.Shown},
		}
	}
	r := MachineRow{
		Machine: &record.Machine{
			ID:          c.Machine,
			Site:        c.Site.ID,
			MachineBody: c.Body,
			AltitudeM:   c.Site.AltitudeM,
		},
		Site:   c.Site,
		Open:   head(c.Open),
		Last:   head(c.Last),
		LostG:  c.LostG,
		Events: c.Events,
		Leak:   c.Leak,
	}
	switch c.Rank {
	case RankOpen:
		r.Reason = "open_visit"
	case RankNotHealthy:
		r.Reason = "not_healthy"
		if c.Leak != nil {
			r.Reason = "leak"
		}
	case RankToppedUp:
		r.Reason = "topped_up"
	case RankSeen:
		r.Reason = "fine"
		if now.Sub(c.Last.Closed) > 200*24*time.Hour {
			r.Reason = "long_ago"
		}
	default:
		r.Reason = "never_seen"
	}
	return r
}

// Doc is what a search finds: a site, a machine or a visit, with the text it is found by.
type Doc struct {
	Kind    string // site, machine, visit
	ID      record.ID
	Machine record.ID
	Site    record.ID
	At      time.Time // of a visit, when it was opened
	Title   string
	Text    string
}

// Order is the place of a kind among what is found: sites, then machines, then visits.
func (d *Doc) Order() int { return slices.Index([]string{"site", "machine", "visit"}, d.Kind) }

// Words are what the document is found by.
func (d *Doc) Words() []string { return Words(d.Title + " " + d.Text) }

// Compare orders what is found: by kind, then the newest, then title and id.
func (d *Doc) Compare(o *Doc) int {
	return cmp.Or(cmp.Compare(d.Order(), o.Order()), o.At.Compare(d.At), cmp.Compare(d.Title, o.Title), cmp.Compare(d.ID, o.ID))
}

// Lists makes the read models from the log: the card and the documents of a machine. ok is false when there is no such machine yet.
func Lists(site record.Site, machine []record.Event) (c Card, docs []Doc, ok bool) {
	m, ok := record.ProjectMachine(machine)
	if !ok {
		return c, nil, false
	}
	if site.ID == "" {
		site.ID = m.Site
	}
	c = cardOf(&m, site)
	c.Events = len(machine)
	title := m.Name
	if site.Name != "" {
		title = site.Name + ", " + m.Name
	}
	docs = append(docs, Doc{
		Kind: "machine", ID: m.ID, Machine: m.ID, Site: m.Site, Title: title,
		Text: line(m.Refrigerant, text.Application(m.Application), m.Maker, m.Serial, m.Installed, m.Note, site.Customer, site.Address),
	})
	for _, v := range m.Visits {
		parts := []string{v.Complaint, v.Food}
		if v.Confirmed != "" {
			parts = append(parts, text.Fault(v.Confirmed).Name)
		}
		parts = append(parts, v.Close.Shown)
		for _, w := range v.Work {
			parts = append(parts, text.Work(w.Code), text.LeakPlace(w.Text, text.English))
		}
		for _, l := range v.Leaks {
			parts = append(parts, text.LeakPlace(l.Place, text.English), text.LeakMethod(l.How, text.English))
		}
		for _, f := range v.Finds {
			parts = append(parts, text.LeakPlace(f.Place, text.English)+": "+text.LeakStage(f.Stage, text.English))
		}
		for _, g := range v.Moves {
			parts = append(parts, g.Cylinder)
		}
		for _, n := range v.Notes {
			parts = append(parts, n.Text)
		}
		for _, p := range v.Photos {
			parts = append(parts, p.Caption)
		}
		parts = append(parts, v.Close.Advice, v.Close.Mechanic, text.ReportNumber(string(v.ID)))
		docs = append(
			docs,
			Doc{Kind: "visit", ID: v.ID, Machine: m.ID, Site: m.Site, At: v.Opened.UTC(), Title: title, Text: line(parts...)},
		)
	}
	return c, docs, true
}

// SiteDoc is a site as a search finds it.
func SiteDoc(s record.Site) Doc {
	return Doc{Kind: "site", ID: s.ID, Site: s.ID, Title: s.Name, Text: line(s.Customer, s.Address)}
}

// line joins what is not empty.
func line(parts ...string) string {
	parts = slices.DeleteFunc(slices.Clone(parts), func(s string) bool { return strings.TrimSpace(s) == "" })
	return strings.Join(parts, " · ")
}

// Words splits a text into the words it is found by: small letters and digits. A word with hyphens counts whole,
// without them, and in its parts, so that "r448a", "R-448A" and "448A" find the same. Each word once, sorted.
func Words(s string) []string {
	var out []string
	for _, f := range fields(s) {
		out = append(out, strings.ReplaceAll(f, "-", ""))
		if strings.Contains(f, "-") {
			out = append(out, strings.FieldsFunc(f, func(r rune) bool { return r == '-' })...)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Terms are the words a person looks for, at most six: everything found has for each of them a word that begins so.
func Terms(query string) []string {
	var out []string
	for _, f := range fields(query) {
		if w := strings.ReplaceAll(f, "-", ""); !slices.Contains(out, w) && len(out) < 6 {
			out = append(out, w)
		}
	}
	return out
}

func fields(s string) []string {
	out := strings.FieldsFunc(
		strings.ToLower(strings.ToValidUTF8(s, " ")),
		func(r rune) bool { return r != '-' && !unicode.IsLetter(r) && !unicode.IsDigit(r) },
	)
	for i, f := range out {
		out[i] = strings.Trim(f, "-")
		// A word is never longer than what an index holds.
		if r := []rune(out[i]); len(r) > 60 {
			out[i] = string(r[:60])
		}
	}
	return slices.DeleteFunc(out, func(f string) bool { return f == "" })
}

// Found reports whether a document with these words answers all terms.
func Found(words, terms []string) bool {
	for _, t := range terms {
		i, _ := slices.BinarySearch(words, t)
		if i == len(words) || !strings.HasPrefix(words[i], t) {
			return false
		}
	}
	return len(terms) > 0
}

// CardQuery asks for a part of the machines by worry.
type CardQuery struct {
	Site          record.ID   // only of this site
	Machines      []record.ID // only these
	Terms         []string    // only those found by them, see [Terms]
	Offset, Limit int
}

// MachineList is a part of the machines, the most worrying first. Total counts all that answer.
type MachineList struct {
	Rows  []MachineRow
	Total int
}

// Machines lists machines by worry; query is what a person looks for, empty: all.
func (a *App) Machines(ctx context.Context, query string, offset, limit int) (MachineList, error) {
	q := CardQuery{Terms: Terms(query), Offset: offset, Limit: limit}
	if len(q.Terms) == 0 && strings.TrimSpace(query) != "" {
		return MachineList{}, nil
	}
	return a.list(ctx, q)
}

func (a *App) list(ctx context.Context, q CardQuery) (MachineList, error) {
	cards, total, err := a.store.Cards(ctx, q)
	if err != nil {
		return MachineList{}, err
	}
	if err := a.catchUp(ctx); err != nil { // once for all rows, see Glance
		return MachineList{}, err
	}
	out := MachineList{Total: total}
	for i := range cards {
		out.Rows = append(out.Rows, cards[i].row(a.Now()))
	}
	return out, nil
}

// Hits are what a search found; More says that there is more after them.
type Hits struct {
	Docs []Doc
	More bool
}

// Search finds sites, machines and visits by the beginnings of words.
//
//   - in: query as typed; at most six words count
//   - out: at most limit documents after offset, sites first, then machines, then visits, newest first
//   - errors: the store fails
func (a *App) Search(ctx context.Context, query string, offset, limit int) (Hits, error) {
	terms := Terms(query)
	if len(terms) == 0 {
		return Hits{}, nil
	}
	docs, err := a.store.Search(ctx, terms, offset, limit+1)
	if err != nil {
		return Hits{}, err
	}
	if len(docs) > limit {
		return Hits{docs[:limit], true}, nil
	}
	return Hits{docs, false}, nil
}

// lists makes what lists and the search read afresh at every call: a memory store is small.
func (s *MemStore) lists() (cards []Card, docs []Doc) {
	s.mu.RLock()
	events := slices.Clone(s.events)
	s.mu.RUnlock()
	byMachine, bySite := map[record.ID][]record.Event{}, map[record.ID][]record.Event{}
	for _, e := range events {
		if e.Machine != "" {
			byMachine[e.Machine] = append(byMachine[e.Machine], e)
		} else if e.Site != "" {
			bySite[e.Site] = append(bySite[e.Site], e)
		}
	}
	sites := map[record.ID]record.Site{}
	for id, list := range bySite {
		if v, ok := record.ProjectSite(list); ok {
			sites[id] = v
			docs = append(docs, SiteDoc(v))
		}
	}
	for _, list := range byMachine {
		m, ok := record.ProjectMachine(list)
		if !ok {
			continue
		}
		c, d, _ := Lists(sites[m.Site], list)
		cards, docs = append(cards, c), append(docs, d...)
	}
	slices.SortFunc(cards, func(a, b Card) int { return a.Compare(&b) })
	slices.SortFunc(docs, func(a, b Doc) int { return a.Compare(&b) })
	return cards, docs
}

// Cards implements [Store].
func (s *MemStore) Cards(_ context.Context, q CardQuery) ([]Card, int, error) {
	cards, docs := s.lists()
	found := map[record.ID]bool{}
	for i := range docs {
		if docs[i].Kind == "machine" && len(q.Terms) > 0 && Found(docs[i].Words(), q.Terms) {
			found[docs[i].ID] = true
		}
	}
	cards = slices.DeleteFunc(cards, func(c Card) bool {
		return q.Site != "" && c.Site.ID != q.Site || q.Machines != nil && !slices.Contains(q.Machines, c.Machine) ||
			len(q.Terms) > 0 && !found[c.Machine]
	})
	return part(cards, q.Offset, q.Limit), len(cards), nil
}

// Search implements [Store].
func (s *MemStore) Search(_ context.Context, terms []string, offset, limit int) ([]Doc, error) {
	_, docs := s.lists()
	docs = slices.DeleteFunc(docs, func(d Doc) bool { return !Found(d.Words(), terms) })
	return part(docs, offset, limit), nil
}

// SiteCards implements [Store].
func (s *MemStore) SiteCards(context.Context) ([]record.Site, error) {
	ids, err := s.Sites(context.Background())
	var out []record.Site
	for _, id := range ids {
		events, _ := s.SiteEvents(context.Background(), id)
		if v, ok := record.ProjectSite(events); ok {
			out = append(out, v)
		}
	}
	slices.SortFunc(out, func(a, b record.Site) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return out, err
}

// Kinds implements [Store].
func (s *MemStore) Kinds(_ context.Context, cursor int64, limit int, kinds ...record.Kind) ([]record.Event, int64, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	var out []record.Event
	for i := max(cursor, 0); i < int64(len(s.events)) && len(out) < limit; i++ {
		if slices.Contains(kinds, s.events[i].Kind) {
			out, cursor = append(out, s.events[i]), i+1
		}
	}
	return out, cursor, nil
}

// ByID implements [Store].
func (s *MemStore) ByID(_ context.Context, ids ...record.ID) ([]record.Event, error) {
	wanted := make(map[record.ID]bool, len(ids))
	for _, id := range ids {
		wanted[id] = true
	}
	return s.filter(func(e record.Event) bool { return wanted[e.ID] }), nil
}

func part[T any](all []T, offset, limit int) []T {
	lo := min(max(offset, 0), len(all))
	return all[lo:min(lo+max(limit, 0), len(all))]
}

// Card and site bodies are kept as JSON.

// Encode is a card as a store keeps it.
func (c *Card) Encode() (string, error) { b, err := json.Marshal(c); return string(b), err }

// DecodeCard reads what Encode wrote.
func DecodeCard(s string) (c Card, err error) { err = json.Unmarshal([]byte(s), &c); return c, err }
