package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"coldwright/app"
	"coldwright/record"
)

const (
	selectHead = `SELECT COALESCE(h.events, 0), COALESCE(h.seq, 0), COALESCE(h.tick, 0), COALESCE(h.link, ''),
		(SELECT COALESCE(MAX(tick), 0) FROM heads) FROM (SELECT 1 AS one) AS o LEFT JOIN heads h ON h.device = $1`
	saveHead = `INSERT INTO heads (device, events, seq, tick, link) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (device) DO UPDATE SET events = excluded.events, seq = excluded.seq, tick = excluded.tick, link = excluded.link`
	sealSQLite   = `CREATE TRIGGER events_no_update BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END`
	sealPostgres = `CREATE TRIGGER events_no_change BEFORE UPDATE OR DELETE ON events FOR EACH ROW EXECUTE FUNCTION events_append_only()`
	linkEvent    = `UPDATE events SET tick = $1, link = $2 WHERE arrival = $3`
	setMark      = `INSERT INTO checksums (name, sum) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET sum = excluded.sum`
	selectMark   = `SELECT sum FROM checksums WHERE name = $1`
	// inForce are the events that count: all but those in quarantine.
	inForce = `NOT EXISTS (SELECT 1 FROM quarantine q WHERE q.event = events.id)`
)

// heads are the ends of the chains while a transaction adds to them.
type heads struct {
	s      *SQL
	tx     *sql.Tx
	latest time.Time
	of     map[string]*record.Head
}

// tick is a place in the order as the tables hold it: nanoseconds since 1970. A time of before that lies behind every
// time an event may have stands at the end of them.
func tick(t time.Time) int64 {
	switch {
	case t.IsZero():
		return 0
	case t.After(record.LatestTime):
		t = record.LatestTime
	case t.Year() < 1700:
		t = time.Date(1700, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	return t.UnixNano()
}

func ticked(n int64) time.Time {
	if n == 0 {
		return time.Time{}
	}
	return time.Unix(0, n).UTC()
}

// head is the end of the chain of a device.
func (h *heads) head(ctx context.Context, device string) (*record.Head, error) {
	head := h.of[device]
	if head != nil {
		return head, nil
	}
	head = &record.Head{Device: device}
	var n, latest int64
	if err := h.s.one(ctx, h.tx, selectHead, []any{device}, &head.Events, &head.Seq, &n, &head.Link, &latest); err != nil {
		return nil, err
	}
	head.Order = ticked(n)
	if t := ticked(latest); t.After(h.latest) {
		h.latest = t
	}
	h.of[device] = head
	return head, nil
}

// save writes the heads that moved.
func (h *heads) save(ctx context.Context) error {
	for _, x := range h.of {
		if x.Events == 0 {
			continue
		}
		if _, err := h.s.exec(ctx, h.tx, saveHead, x.Device, x.Events, x.Seq, tick(x.Order), x.Link); err != nil {
			return err
		}
	}
	return nil
}

// link chains the events of before, in the order of their arrival, once. Their place in the order is the time of their
// device: that was their order.
func (s *SQL) link(ctx context.Context) error {
	const name = "chain"
	var have string
	if err := s.write.QueryRowContext(ctx, selectMark, name).Scan(&have); err == nil || !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	return s.within(ctx, func(tx *sql.Tx) error {
		if s.postgres {
			// Two programs that start at once: the second finds it done.
			if _, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock($1)", appendLock); err != nil {
				return err
			}
			if err := tx.QueryRowContext(ctx, selectMark, name).Scan(&have); err == nil || !errors.Is(err, sql.ErrNoRows) {
				return err
			}
		}
		h := &heads{s: s, tx: tx, of: map[string]*record.Head{}}
		if err := each(ctx, tx, "", func(arrival int64, e record.Event) error {
			e.Order = ticked(tick(e.At))
			head, err := h.head(ctx, e.Device)
			if err != nil {
				return err
			}
			e = head.Follow(e)
			_, err = tx.ExecContext(ctx, linkEvent, tick(e.Order), e.Link, arrival)
			return err
		}); err != nil {
			return err
		}
		if err := h.save(ctx); err != nil {
			return err
		}
		seal := sealSQLite
		if s.postgres {
			seal = sealPostgres
		}
		if _, err := tx.ExecContext(ctx, seal); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, setMark, name, "1")
		return err
	})
}

// each calls f for every event in the order of arrival, a part at a time: the log may be larger than memory.
func each(ctx context.Context, tx *sql.Tx, where string, f func(arrival int64, e record.Event) error) error {
	if where != "" {
		where = " AND " + where
	}
	for cursor := int64(0); ; {
		rows, err := tx.QueryContext(ctx, "SELECT "+linked+" FROM events WHERE arrival > $1"+where+" ORDER BY arrival LIMIT 2000", cursor)
		if err != nil {
			return err
		}
		events, arrivals, err := scanAll(rows)
		if err != nil || len(events) == 0 {
			return err
		}
		for i, e := range events {
			if err := f(arrivals[i], e); err != nil {
				return err
			}
		}
		cursor = arrivals[len(arrivals)-1]
	}
}

// sift looks at the meaning of every event again when the program's idea of it has changed, and puts into quarantine
// what means nothing and takes out what does.
func (s *SQL) sift(ctx context.Context) error {
	const name = "meaning"
	var have string
	err := s.write.QueryRowContext(ctx, selectMark, name).Scan(&have)
	if err != nil && !errors.Is(err, sql.ErrNoRows) || have == record.MeaningVersion {
		return err
	}
	return s.within(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, "DELETE FROM quarantine"); err != nil {
			return err
		}
		if err := each(ctx, tx, "", func(_ int64, e record.Event) error {
			if e.Link = ""; e.Check() == nil { // the chain is another matter
				return nil
			}
			_, err := tx.ExecContext(ctx, "INSERT INTO quarantine (event, machine, site) VALUES ($1, $2, $3) ON CONFLICT (event) DO NOTHING",
				string(e.ID), string(e.Machine), string(e.Site))
			return err
		}); err != nil {
			return err
		}
		// A number that no event may have is not counted on from, though a program of before did.
		if _, err := tx.ExecContext(ctx, `UPDATE heads SET seq = (SELECT COALESCE(MAX(e.seq), 0) FROM events e
			WHERE e.device = heads.device AND e.seq BETWEEN 0 AND $1) WHERE seq > $1`, int64(record.SeqLimit)); err != nil {
			return err
		}
		// The lists follow from what counts.
		if _, err := tx.ExecContext(ctx, "DELETE FROM checksums WHERE name = 'lists'"); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, setMark, name, record.MeaningVersion)
		return err
	})
}

// Quarantine implements [app.Store].
func (s *SQL) Quarantine(ctx context.Context, machine record.ID, limit int) ([]app.Held, error) {
	where, args := "id IN (SELECT event FROM quarantine) ORDER BY arrival LIMIT $1", []any{limit}
	if machine != "" {
		where, args = "id IN (SELECT event FROM quarantine WHERE machine = $1) ORDER BY arrival LIMIT $2", []any{string(machine), limit}
	}
	events, _, err := s.query(ctx, columns, where, args...)
	if err != nil {
		return nil, err
	}
	return app.HeldOf(events), nil
}

// named gives the database a name of its own, once: two folders of one computer, or a folder and what was restored
// from it, must not number their events alike.
func (s *SQL) named(ctx context.Context) error {
	id := make([]byte, 4)
	_, _ = rand.Read(id) // never fails
	if _, err := s.write.ExecContext(
		ctx, "INSERT INTO checksums (name, sum) VALUES ('name', $1) ON CONFLICT (name) DO NOTHING", hex.EncodeToString(id),
	); err != nil {
		return fmt.Errorf("name: %w", err)
	}
	return s.write.QueryRowContext(ctx, selectMark, "name").Scan(&s.name)
}

// Head is the end of the chain of a device; of a device that wrote nothing an empty one.
func (s *SQL) Head(ctx context.Context, device string) (record.Head, error) {
	all, err := s.heads(ctx)
	for _, h := range all {
		if h.Device == device {
			return h, err
		}
	}
	return record.Head{Device: device}, err
}

// Name is the name of the database, part of the name of the device that writes to it.
func (s *SQL) Name() string { return s.name }
