package app

import (
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	"coldwright/record"
)

// MemStore keeps events in memory: for tests, and for a browser that keeps its own log beside it.
type MemStore struct {
	mu     sync.RWMutex
	events []record.Event
	ids    map[record.ID]bool
	forms  map[string]bool
	heads  map[string]*record.Head
	visits map[record.ID]record.ID // machine by visit
	latest time.Time               // the last place in the order
	blobs  map[string]record.Blob
}

// NewMemStore returns an empty store.
func NewMemStore() *MemStore {
	return &MemStore{
		ids: map[record.ID]bool{}, forms: map[string]bool{}, heads: map[string]*record.Head{}, visits: map[record.ID]record.ID{},
		blobs: map[string]record.Blob{},
	}
}

// Append implements [Store].
func (s *MemStore) Append(ctx context.Context, form string, on []Mark, events ...record.Event) (bool, error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	for _, e := range events {
		if err := e.Check(); err != nil {
			return false, err
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, e := range events {
		for _, h := range e.Blobs() {
			if _, ok := s.blobs[h]; !ok {
				return false, BlobFirst()
			}
		}
	}
	if form != "" && s.forms[form] {
		return false, nil
	}
	for _, e := range events {
		if m, ok := s.visits[e.Visit]; ok && e.Known() && m != e.Machine {
			return false, record.OtherVisit()
		}
	}
	for _, h := range on {
		n := 0
		for _, e := range s.events {
			if h.Machine != "" && e.Machine == h.Machine || h.Machine == "" && e.Machine == "" && e.Site == h.Site {
				n++
			}
		}
		if n != h.Events {
			return false, Changed()
		}
	}
	if form != "" {
		s.forms[form] = true
	}
	for _, e := range events {
		if !s.ids[e.ID] {
			s.ids[e.ID] = true
			if _, ok := s.visits[e.Visit]; !ok && e.Visit != "" {
				s.visits[e.Visit] = e.Machine
			}
			h := s.heads[e.Device]
			if h == nil {
				h = &record.Head{}
				s.heads[e.Device] = h
			}
			s.events = append(s.events, h.Next(e, s.latest))
			if h.Order.After(s.latest) {
				s.latest = h.Order
			}
		}
	}
	return true, nil
}

func (s *MemStore) filter(keep func(record.Event) bool) []record.Event {
	s.mu.RLock()
	defer s.mu.RUnlock()
	var out []record.Event
	for _, e := range s.events {
		if keep(e) {
			e.Prev, e.Link = "", "" // only [MemStore.Since] tells of the chain
			out = append(out, e)
		}
	}
	record.Sort(out)
	return out
}

// MachineEvents implements [Store].
func (s *MemStore) MachineEvents(_ context.Context, id record.ID) ([]record.Event, error) {
	return s.filter(func(e record.Event) bool { return e.Machine == id }), nil
}

// SiteEvents implements [Store].
func (s *MemStore) SiteEvents(_ context.Context, id record.ID) ([]record.Event, error) {
	return s.filter(func(e record.Event) bool { return e.Site == id && e.Machine == "" }), nil
}

// Since implements [Store].
func (s *MemStore) Since(_ context.Context, cursor int64, limit int) ([]record.Event, int64, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	lo := min(max(cursor, 0), int64(len(s.events)))
	hi := min(lo+int64(limit), int64(len(s.events)))
	return slices.Clone(s.events[lo:hi]), hi, nil
}

func (s *MemStore) distinct(of func(record.Event) record.ID) []record.ID {
	s.mu.RLock()
	defer s.mu.RUnlock()
	var out []record.ID
	for _, e := range s.events {
		if id := of(e); id != "" && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out
}

// Quarantine implements [Store]: everything that is here was looked at when it came.
func (s *MemStore) Quarantine(context.Context, record.ID, int) ([]Held, error) { return nil, nil }

// Sites implements [Store].
func (s *MemStore) Sites(context.Context) ([]record.ID, error) {
	return s.distinct(func(e record.Event) record.ID {
		if e.Kind == record.SiteSaved {
			return e.Site
		}
		return ""
	}), nil
}

// Machines implements [Store].
func (s *MemStore) Machines(context.Context) ([]record.ID, error) {
	return s.distinct(func(e record.Event) record.ID {
		if e.Kind == record.MachineSaved {
			return e.Machine
		}
		return ""
	}), nil
}

// MachineOf implements [Store].
func (s *MemStore) MachineOf(_ context.Context, visit record.ID) (record.ID, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if m, ok := s.visits[visit]; ok {
		return m, nil
	}
	return "", notFound("visit")
}

// PutBlobs implements [Store].
func (s *MemStore) PutBlobs(ctx context.Context, blobs ...record.Blob) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, b := range blobs {
		if err := b.Check(); err != nil {
			return err
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, b := range blobs {
		if _, ok := s.blobs[b.Hash]; !ok {
			b.Bytes = slices.Clone(b.Bytes)
			s.blobs[b.Hash] = b
		}
	}
	return nil
}

// Blob implements [Store].
func (s *MemStore) Blob(_ context.Context, hash string) (record.Blob, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	b, ok := s.blobs[hash]
	if !ok {
		return record.Blob{}, NoBlob()
	}
	b.Bytes = slices.Clone(b.Bytes)
	return b, nil
}

// MissingBlobs implements [Store].
func (s *MemStore) MissingBlobs(_ context.Context, hashes ...string) (out []string, err error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	for _, h := range hashes {
		if _, ok := s.blobs[h]; !ok {
			out = append(out, h)
		}
	}
	return out, nil
}

// BlobHashes implements [Store].
func (s *MemStore) BlobHashes(_ context.Context, after string, limit int) (out []string, err error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	for _, h := range slices.Sorted(maps.Keys(s.blobs)) {
		if h > after && len(out) < limit {
			out = append(out, h)
		}
	}
	return out, nil
}

// Close implements [Store].
func (s *MemStore) Close() error { return nil }
