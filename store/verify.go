package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/pressly/goose/v3"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
)

// mostDamage is how many damages are named; a file that is rotten through needs no longer list.
const mostDamage = 1000

// VerifySQLite reads the record of a data folder from end to end and names what is damaged. It changes nothing, and a
// program may serve from the folder meanwhile.
//
//   - in: dir, the data folder
//   - out: what was found; of a database of an older program only whether it can be read
//   - errors: [*fail.Error] when there is no database; the disk fails
//   - cost: reads the database three times and writes a copy of it to the folder for temporary files
func VerifySQLite(ctx context.Context, dir string) (out app.Verified, err error) {
	path := filepath.Join(dir, FileName)
	if _, err := os.Stat(path); err != nil {
		return out, fail.Of(fail.NotFound, "data", "backup.none", fail.Args{"folder": dir})
	}
	v := &verifier{out: &out}
	if err := v.file(path); err != nil {
		return out, err
	}
	settled := settle(path)
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?mode=rw&_pragma=busy_timeout(5000)")
	if err != nil {
		return out, fmt.Errorf("verify: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close(), settled()) }()
	if !v.pages(ctx, db) {
		return out, nil
	}
	work, err := os.MkdirTemp("", "coldwright-verify-")
	if err != nil {
		return out, fmt.Errorf("verify: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	made := filepath.Join(work, "copy.db")
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", made); err != nil {
		v.unread(path, err)
		return out, nil
	}
	return out, v.copied(ctx, made)
}

// VerifyPostgres does the same with a database by its URL. Nothing is written meanwhile.
func VerifyPostgres(ctx context.Context, url string) (out app.Verified, err error) {
	db, err := sql.Open("pgx", url)
	if err != nil {
		return out, fmt.Errorf("open database: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := db.PingContext(ctx); err != nil {
		return out, fmt.Errorf("reach database: %w", err)
	}
	v := &verifier{out: &out, s: &SQL{write: db, read: db, postgres: true}}
	v.triggers(ctx)
	return out, v.all(ctx)
}

// verifier gathers what is damaged.
type verifier struct {
	s       *SQL
	out     *app.Verified
	noLists bool
}

func (v *verifier) damage(since time.Time, what *fail.Error) {
	if len(v.out.Damage) < mostDamage {
		v.out.Damage = append(v.out.Damage, app.Damage{What: what, Since: since})
	}
}

func (v *verifier) unread(where string, err error) {
	v.damage(time.Time{}, fail.Of(fail.BadData, where, "verify.unread", fail.Args{"why": err}))
}

// file holds the file against what was noted when it was closed.
func (v *verifier) file(path string) error {
	switch st, err := readState(path); {
	case err != nil:
		v.damage(time.Time{}, fail.Of(fail.BadData, path+stateEnd, "verify.state", nil))
	case st.lost(path):
		v.damage(st.At, fail.Of(fail.BadData, path+"-wal", "verify.log", nil))
	case st.Sum != "" && !exists(path+"-wal"):
		sum, err := sumOf(path)
		if err != nil {
			return err
		}
		if sum != st.Sum {
			v.damage(st.At, fail.Of(fail.BadData, path, "verify.file", nil))
		}
	}
	return nil
}

// pages lets SQLite look at its own; false: there is no reading on.
func (v *verifier) pages(ctx context.Context, db *sql.DB) bool {
	lines, err := column[string](ctx, db, "PRAGMA integrity_check(20)")
	if err != nil {
		v.unread("database", err)
		return false
	}
	for _, l := range lines {
		if l != "ok" {
			v.unread("database", errors.New(l))
		}
	}
	return true
}

// copied looks at a copy of a database, which it may change.
func (v *verifier) copied(ctx context.Context, path string) (err error) {
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(path)+"?mode=rw&_txlock=immediate")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	db.SetMaxOpenConns(1)
	v.s = &SQL{write: db, read: db}
	if !v.schema(ctx) {
		return nil
	}
	return v.all(ctx)
}

// all looks at what both kinds of database hold alike.
func (v *verifier) all(ctx context.Context) error {
	for _, step := range []struct {
		where string
		do    func(context.Context) error
	}{{"events", v.chain}, {"contents", v.contents}, {"lists", v.lists}} {
		if err := step.do(ctx); err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			v.unread(step.where, err)
		}
	}
	return nil
}

// chain holds every event against its link, and the ends of the chains against the heads.
func (v *verifier) chain(ctx context.Context) error {
	held := map[record.ID]bool{}
	ids, err := column[record.ID](ctx, v.s.read, "SELECT event FROM quarantine")
	if err != nil {
		return err
	}
	for _, id := range ids {
		held[id] = true
	}
	ends := map[string]*record.Head{}
	rows, err := v.s.read.QueryContext(ctx, "SELECT "+linked+" FROM events ORDER BY arrival")
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		e, _, err := scanOne(rows)
		if err != nil {
			v.damage(time.Time{}, fail.Of(fail.BadData, "events", "verify.event", fail.Args{"id": e.ID}))
			continue
		}
		v.out.Events++
		if v.out.First.IsZero() || e.At.Before(v.out.First) {
			v.out.First = e.At
		}
		if e.At.After(v.out.Last) {
			v.out.Last = e.At
		}
		end := ends[e.Device]
		if end == nil {
			end = &record.Head{}
			ends[e.Device] = end
		}
		link, before := e.Link, end.Seq
		if f := end.Follow(e); f.Link != link {
			if before > 0 && e.Seq > before+1 {
				v.damage(e.At, fail.Of(fail.BadData, "events", "verify.missing",
					fail.Args{"id": e.ID, "device": e.Device, "from": before, "to": e.Seq}))
			} else {
				v.damage(e.At, fail.Of(fail.BadData, "events", "verify.event", fail.Args{"id": e.ID}))
			}
			end.Link = link // what follows is held against what stands there
		}
		e.Prev, e.Link = "", ""
		why := e.Check()
		switch {
		case held[e.ID]:
			v.out.Held = append(v.out.Held, app.Held{Event: e, Why: why})
			delete(held, e.ID)
			if why == nil {
				v.damage(e.At, fail.Of(fail.BadData, "quarantine", "verify.quarantine", fail.Args{"id": e.ID}))
			}
		case why != nil:
			v.damage(e.At, fail.Of(fail.BadData, "events", "verify.meaning", fail.Args{"id": e.ID, "why": why}))
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	for id := range held {
		v.damage(time.Time{}, fail.Of(fail.BadData, "quarantine", "verify.quarantine", fail.Args{"id": id}))
	}
	heads, err := v.s.heads(ctx)
	if err != nil {
		return err
	}
	for _, h := range heads {
		end := ends[h.Device]
		delete(ends, h.Device)
		if end == nil {
			end = &record.Head{}
		}
		if end.Events != h.Events || end.Link != h.Link || end.Seq != h.Seq || tick(end.Order) != tick(h.Order) {
			v.damage(end.Order, fail.Of(fail.BadData, "heads", "verify.head",
				fail.Args{"device": h.Device, "events": h.Events, "here": end.Events}))
		}
	}
	for _, d := range slices.Sorted(maps.Keys(ends)) {
		v.damage(time.Time{}, fail.Of(fail.BadData, "heads", "verify.head", fail.Args{"device": d, "events": 0, "here": ends[d].Events}))
	}
	v.out.Heads = heads
	return nil
}

// contents holds every picture and file against its hash, and the events against what they name.
func (v *verifier) contents(ctx context.Context) error {
	here := map[string]bool{}
	for after := ""; ; {
		hashes, err := v.s.BlobHashes(ctx, after, 500)
		if err != nil || len(hashes) == 0 {
			if err != nil {
				return err
			}
			break
		}
		for _, h := range hashes {
			after = h
			here[h] = true
			v.out.Contents++
			b, err := v.s.Blob(ctx, h)
			if err == nil {
				err = b.Check()
			}
			if err != nil {
				v.damage(time.Time{}, fail.Of(fail.BadData, "contents", "verify.content", fail.Args{"hash": h}))
			}
		}
	}
	for cursor := int64(0); ; {
		events, next, err := v.s.Kinds(ctx, cursor, 500, record.PhotoTaken, record.ColdRecorded)
		if err != nil || len(events) == 0 {
			return err
		}
		for _, e := range events {
			for _, h := range e.Blobs() {
				if !here[h] {
					v.damage(e.At, fail.Of(fail.BadData, "contents", "verify.lost", fail.Args{"id": e.ID}))
				}
			}
		}
		cursor = next
	}
}

// shown are the rows of the lists, each table in an order of its own that making it again does not change.
var shown = map[string]string{
	"things": `SELECT kind, id, parent FROM things ORDER BY kind, id`,
	"cards":  `SELECT machine, site, rank, sorting, name, card FROM cards ORDER BY machine`,
	"sites":  `SELECT site, name, body FROM sites ORDER BY site`,
	"docs":   `SELECT kind, id, machine, site, place, at, title, content FROM docs ORDER BY kind, id`,
	"words":  `SELECT word, kind, id, '' FROM words LEFT JOIN docs ON docs.doc = words.doc ORDER BY word, kind, id`,
}

// lists makes the lists again from the events, in a transaction that is taken back, and compares.
func (v *verifier) lists(ctx context.Context) (err error) {
	if v.noLists {
		return nil
	}
	// Made by another version, or not since the record was restored: the next start makes them again.
	var have string
	err = v.s.read.QueryRowContext(ctx, selectMark, "lists").Scan(&have)
	if errors.Is(err, sql.ErrNoRows) || err == nil && have != app.ListsVersion {
		return nil
	}
	if err != nil {
		return err
	}
	tx, err := v.s.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, ignoreDone(tx.Rollback())) }()
	was, err := digests(ctx, tx)
	if err != nil {
		return err
	}
	if err := v.s.rebuild(ctx, tx); err != nil {
		return err
	}
	is, err := digests(ctx, tx)
	if err != nil {
		return err
	}
	for _, table := range slices.Sorted(maps.Keys(shown)) {
		if was[table] != is[table] {
			v.damage(time.Time{}, fail.Of(fail.BadData, table, "verify.lists", nil))
		}
	}
	return nil
}

func digests(ctx context.Context, tx *sql.Tx) (map[string]string, error) {
	out := map[string]string{}
	for table, q := range shown {
		rows, err := tx.QueryContext(ctx, q)
		if err != nil {
			return nil, err
		}
		if out[table], err = digest(rows); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func digest(rows *sql.Rows) (sum string, err error) {
	defer func() { err = errors.Join(err, rows.Close()) }()
	names, err := rows.Columns()
	if err != nil {
		return "", err
	}
	cells, at := make([]sql.NullString, len(names)), make([]any, len(names))
	for i := range cells {
		at[i] = &cells[i]
	}
	h := sha256.New()
	for rows.Next() {
		if err := rows.Scan(at...); err != nil {
			return "", err
		}
		for _, c := range cells {
			fmt.Fprintf(h, "%v%d:%s,", c.Valid, len(c.String), c.String)
		}
	}
	return hex.EncodeToString(h.Sum(nil)), rows.Err()
}

// heads are the ends of the chains as the database holds them.
func (s *SQL) heads(ctx context.Context) (out []record.Head, err error) {
	rows, err := s.read.QueryContext(ctx, "SELECT device, events, seq, tick, link FROM heads ORDER BY device")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var h record.Head
		var n int64
		if err := rows.Scan(&h.Device, &h.Events, &h.Seq, &n, &h.Link); err != nil {
			return nil, err
		}
		h.Order = ticked(n)
		out = append(out, h)
	}
	return out, rows.Err()
}

// ours is what a database of this program consists of: the text of every table, index and trigger by its name.
var ours = sync.OnceValues(func() (map[string]string, error) {
	ctx := context.Background()
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	s := &SQL{write: db, read: db}
	err = s.migrate(ctx, goose.DialectSQLite3, "sqlite", func(int64) error { return nil })
	var out map[string]string
	if err == nil {
		out, err = objects(ctx, db)
	}
	return out, errors.Join(err, db.Close())
})

func objects(ctx context.Context, db *sql.DB) (out map[string]string, err error) {
	// What SQLite makes for itself (statistics, indexes of keys) is no matter of ours.
	lines, err := column[string](
		ctx, db, "SELECT type || ' ' || name || ' ' || COALESCE(sql, '') FROM sqlite_master WHERE substr(name, 1, 7) <> 'sqlite_'",
	)
	out = map[string]string{}
	for _, l := range lines {
		kind, rest, _ := strings.Cut(l, " ")
		name, text, _ := strings.Cut(rest, " ")
		out[kind+" "+name] = text
	}
	return out, err
}

// strange are the tables, indexes, views and triggers that are not as this program makes them, or are missing.
func strange(ctx context.Context, db *sql.DB) ([]string, error) {
	want, err := ours()
	if err != nil {
		return nil, err
	}
	have, err := objects(ctx, db)
	if err != nil {
		return nil, err
	}
	var out []string
	for name, text := range want {
		if have[name] != text {
			out = append(out, name)
		}
	}
	for name := range have {
		if _, ok := want[name]; !ok {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out, nil
}

// schema holds the tables and triggers against those of this program; false: there is no reading on.
func (v *verifier) schema(ctx context.Context) bool {
	known, err := newest()
	if err != nil {
		v.unread("database", err)
		return false
	}
	var version int64
	if err := v.s.read.QueryRowContext(ctx, selectVersion).Scan(&version); err != nil {
		v.unread("database", err)
		return false
	}
	if version != known {
		v.damage(time.Time{}, fail.Of(fail.BadData, "database", "verify.version", fail.Args{"version": version, "known": known}))
		return false
	}
	names, err := strange(ctx, v.s.read)
	if err != nil {
		v.unread("database", err)
		return false
	}
	for _, n := range names {
		v.damage(time.Time{}, fail.Of(fail.BadData, "database", "verify.schema", fail.Args{"name": n}))
	}
	files, err := fs.Sub(migrations, "migrations/sqlite")
	if err == nil {
		err = v.s.checksums(ctx, files)
	}
	if err != nil {
		v.unread("checksums", err)
	}
	return true
}

// triggers holds the triggers of a Postgres database against those of this program.
func (v *verifier) triggers(ctx context.Context) {
	have, err := column[string](ctx, v.s.read, `SELECT c.relname || ' ' || t.tgname || ' ' || t.tgenabled::text FROM pg_trigger t
		JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_namespace n ON n.oid = c.relnamespace
		WHERE NOT t.tgisinternal AND n.nspname = current_schema() AND c.relname IN
		('events', 'blobs', 'heads', 'forms', 'things', 'cards', 'sites', 'docs', 'words', 'quarantine', 'checksums') ORDER BY 1`)
	if err != nil {
		v.unread("database", err)
		return
	}
	want := []string{"blobs blobs_no_change O", "events events_no_change O"}
	for _, n := range append(slices.Clone(want), have...) {
		if !slices.Contains(want, n) || !slices.Contains(have, n) {
			v.damage(time.Time{}, fail.Of(fail.BadData, "database", "verify.schema", fail.Args{"name": "trigger " + n}))
		}
	}
}
