package app

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/singleflight"

	"coldwright/fail"
	"coldwright/record"
	"coldwright/refrigerant"
)

// Store keeps events. It is the contract that every storage fulfils; store/storetest tests it.
type Store interface {
	// Append adds events, all or none. An event without a number (Seq 0) gets the next one of its device, whoever
	// wrote the one before, and a place in the order behind everything that is here (see [record.Head.Next]). Events
	// whose id is already there are left as they are. form identifies the
	// form that was sent: when it was appended before, nothing is added and fresh is false. Empty form: no such
	// check. on is what the events were decided on: when anything of it has moved since, nothing is added, the form
	// counts as not sent and the error is [Changed]. An event whose contents (see [record.Event.Blobs]) are not kept
	// yet is refused.
	Append(ctx context.Context, form string, on []Mark, events ...record.Event) (fresh bool, err error)
	// MachineEvents returns every event of a machine that counts, in order; what is in quarantine does not.
	MachineEvents(ctx context.Context, machine record.ID) ([]record.Event, error)
	// SiteEvents returns the events of a site itself (not of its machines).
	SiteEvents(ctx context.Context, site record.ID) ([]record.Event, error)
	// Since returns at most limit events in the order of arrival after a cursor, and the next cursor; those in quarantine
	// too, and each with its link.
	Since(ctx context.Context, cursor int64, limit int) ([]record.Event, int64, error)
	// Sites and Machines list what is there.
	Sites(ctx context.Context) ([]record.ID, error)
	Machines(ctx context.Context) ([]record.ID, error)
	// MachineOf returns the machine a visit belongs to; fail.NotFound when there is none.
	MachineOf(ctx context.Context, visit record.ID) (record.ID, error)
	// Kinds returns at most limit events of some kinds in the order of arrival after a cursor, and the next cursor
	// (the same when there is none).
	Kinds(ctx context.Context, cursor int64, limit int, kinds ...record.Kind) ([]record.Event, int64, error)
	// Quarantine returns at most limit events that are kept and do not count, of one machine or, when it is empty, of all.
	Quarantine(ctx context.Context, machine record.ID, limit int) ([]Held, error)
	// ByID returns those of the events that are there, in order.
	ByID(ctx context.Context, ids ...record.ID) ([]record.Event, error)
	// Cards returns a part of the machines by worry, in the order of [Card.Compare], and how many answer in all.
	Cards(ctx context.Context, q CardQuery) ([]Card, int, error)
	// SiteCards returns every site by name, without its machines.
	SiteCards(ctx context.Context) ([]record.Site, error)
	// Search returns documents that answer every term (see [Found]), in the order of [Doc.Compare].
	Search(ctx context.Context, terms []string, offset, limit int) ([]Doc, error)
	// PutBlobs keeps contents, all or none, each at most [record.BlobLimit] bytes. What is there already is left as it is.
	PutBlobs(ctx context.Context, blobs ...record.Blob) error
	// Blob returns one by its hash; fail.NotFound when it is not there.
	Blob(ctx context.Context, hash string) (record.Blob, error)
	// MissingBlobs returns those of the hashes that are not there.
	MissingBlobs(ctx context.Context, hashes ...string) ([]string, error)
	// BlobHashes returns at most limit hashes that follow after, in order; "" begins.
	BlobHashes(ctx context.Context, after string, limit int) ([]string, error)
	Close() error
}

// Options hand in what an App cannot make itself.
type Options struct {
	Now     func() time.Time
	Rand    io.Reader
	Version string
	Device  string
}

// App runs the use cases. Safe for concurrent use.
type App struct {
	store Store
	o     Options

	mu   sync.Mutex
	fits map[string]*fitEntry
	// charts are kept like fits: one per refrigerant and set of isotherms.
	charts map[chartKey]*chartEntry
	// judged keeps the last judgements by visit, end and number of events: a page that is looked at again need not compute again.
	judged recent[judgedKey, End]
	// judging joins those who ask for the same judgement at the same time.
	judging singleflight.Group
	// glances are visits as lists show them.
	glances recent[glanceKey, *VisitView]

	// thumbs are small pictures by the hash of the large one; picture lets one be opened at a time.
	thumbs  recent[string, []byte]
	picture chan struct{}

	learnMu sync.Mutex
	learned learned
	houses  houses
}

type fitEntry struct {
	once sync.Once
	fit  *refrigerant.Fit
	err  error
}

// recent keeps the last things put into it. Not safe for concurrent use.
type recent[K comparable, V any] struct {
	most  int
	of    map[K]V
	order []K
}

func newRecent[K comparable, V any](most int) recent[K, V] {
	return recent[K, V]{most: most, of: map[K]V{}}
}

func (r *recent[K, V]) put(k K, v V) {
	if _, ok := r.of[k]; !ok {
		if len(r.order) >= r.most {
			delete(r.of, r.order[0])
			r.order = r.order[1:]
		}
		r.order = append(r.order, k)
	}
	r.of[k] = v
}

type chartKey struct {
	designation string
	lines       refrigerant.ChartOptions
}

type chartEntry struct {
	once  sync.Once
	chart *refrigerant.Chart
	err   error
}

// New returns an App over a store.
func New(s Store, o Options) *App {
	if o.Device == "" {
		o.Device = "local"
	}
	// A device of its own for each database: what was restored into another folder must not number on as the first does.
	if n, ok := s.(interface{ Name() string }); ok {
		o.Device += "-" + n.Name()
	}
	return &App{
		store:   s,
		o:       o,
		fits:    map[string]*fitEntry{},
		charts:  map[chartKey]*chartEntry{},
		judged:  newRecent[judgedKey, End](1000),
		glances: newRecent[glanceKey, *VisitView](300),
		thumbs:  newRecent[string, []byte](200),
		picture: make(chan struct{}, 1),
	}
}

// Store is where the App keeps its events, for what moves the whole log (package keep).
func (a *App) Store() Store { return a.store }

// Now is the App's clock.
func (a *App) Now() time.Time { return a.o.Now().UTC() }

// Version is the program's version.
func (a *App) Version() string { return a.o.Version }

// NewID returns a fresh UUIDv7 from the handed-in clock and randomness.
func (a *App) NewID() (record.ID, error) {
	// The library's v7 reads its own clock; the layout is RFC 9562 section 5.7.
	var u uuid.UUID
	a.mu.Lock()
	_, err := io.ReadFull(a.o.Rand, u[:])
	a.mu.Unlock()
	if err != nil {
		return "", fmt.Errorf("randomness: %w", err)
	}
	ms := a.Now().UnixMilli()
	for i := range 6 {
		u[i] = byte(ms >> (8 * (5 - i)))
	}
	u[6] = u[6]&0x0f | 0x70
	u[8] = u[8]&0x3f | 0x80
	return record.ID(u.String()), nil
}

// Fit returns the fit of a refrigerant, built once per App.
func (a *App) Fit(designation string) (*refrigerant.Fit, error) {
	a.mu.Lock()
	e := a.fits[designation]
	if e == nil {
		e = new(fitEntry)
		a.fits[designation] = e
	}
	a.mu.Unlock()
	e.once.Do(func() {
		r, err := refrigerant.Load(designation)
		if err != nil {
			e.err = fail.Of(fail.BadValue, "refrigerant", "refrigerant.unusable", fail.Args{"why": err})
			return
		}
		e.fit, e.err = r.Fit()
	})
	return e.fit, e.err
}

// Chart returns the pressure–enthalpy chart of a refrigerant with some isotherms, built once per App.
func (a *App) Chart(designation string, lines refrigerant.ChartOptions) (*refrigerant.Chart, error) {
	f, err := a.Fit(designation)
	if err != nil {
		return nil, err
	}
	key := chartKey{designation, lines}
	a.mu.Lock()
	e := a.charts[key]
	if e == nil {
		e = new(chartEntry)
		a.charts[key] = e
	}
	a.mu.Unlock()
	e.once.Do(func() { e.chart, e.err = f.Chart(lines) })
	return e.chart, e.err
}

// Given is how far this database has numbered the events of a device, false where another writes under that name. A
// store without a name of its own cannot tell.
func (a *App) Given(ctx context.Context, device string) (record.Head, bool, error) {
	s, ok := a.store.(interface {
		Name() string
		Head(ctx context.Context, device string) (record.Head, error)
	})
	// Whoever writes to it, a terminal or a page, bears its name.
	if !ok || !strings.HasSuffix(device, "-"+s.Name()) {
		return record.Head{}, false, nil
	}
	h, err := s.Head(ctx, device)
	return h, err == nil, err
}

// event builds one event.
func (a *App) event(by string, site, machine, visit record.ID, k record.Kind, body any) (record.Event, error) {
	id, err := a.NewID()
	if err != nil {
		return record.Event{}, err
	}
	text, err := json.Marshal(body)
	if err != nil {
		return record.Event{}, err
	}
	e := record.Event{
		ID:      id,
		Device:  a.o.Device,
		At:      a.Now(),
		By:      by,
		Site:    site,
		Machine: machine,
		Visit:   visit,
		Kind:    k,
		Version: 1,
		Body:    text,
	}
	return e, nil // checked and numbered by the store
}

// notFound says that there is no such visit, machine or other thing.
func notFound(what string) error {
	return fail.Of(fail.NotFound, "", "page.no_such", fail.Args{"what": fail.Word(what)})
}
