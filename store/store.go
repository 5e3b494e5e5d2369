package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // driver "pgx"
	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // driver "sqlite"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
)

//go:embed migrations
var migrations embed.FS

// SQL is an [app.Store] over a database.
type SQL struct {
	write, read *sql.DB
	postgres    bool
	name        string // of the database
	path        string // of the file; empty: no file
	warnings    []error
	prepared    map[string]*sql.Stmt // of what every append runs
}

// prepare reads the statements of an append once.
func (s *SQL) prepare(ctx context.Context) error {
	s.prepared = map[string]*sql.Stmt{}
	for _, q := range []string{insertEvent, insertForm, selectHead, saveHead, selectVisit, countMachine, countSite} {
		p, err := s.write.PrepareContext(ctx, q)
		if err != nil {
			return fmt.Errorf("prepare: %w", err)
		}
		s.prepared[q] = p
	}
	return nil
}

// statement is one of them within a transaction.
func (s *SQL) statement(ctx context.Context, tx *sql.Tx, q string) (*sql.Stmt, error) {
	if p := s.prepared[q]; p != nil {
		return tx.StmtContext(ctx, p), nil
	}
	return tx.PrepareContext(ctx, q) // while the database is brought up to date
}

func (s *SQL) exec(ctx context.Context, tx *sql.Tx, q string, args ...any) (sql.Result, error) {
	p, err := s.statement(ctx, tx, q)
	if err != nil {
		return nil, err
	}
	return p.ExecContext(ctx, args...)
}

func (s *SQL) one(ctx context.Context, tx *sql.Tx, q string, args []any, to ...any) error {
	p, err := s.statement(ctx, tx, q)
	if err != nil {
		return err
	}
	return p.QueryRowContext(ctx, args...).Scan(to...)
}

var _ app.Store = (*SQL)(nil)

// pragmas a SQLite file must run with; read back at start, since a mistyped one is ignored silently.
var pragmas = []struct{ name, value, readBack string }{
	{"busy_timeout", "5000", "5000"}, {"journal_mode", "WAL", "wal"}, {"synchronous", "FULL", "2"}, {"foreign_keys", "ON", "1"},
}

// OpenSQLite opens (or makes) a file, migrates it and checks how it runs.
func OpenSQLite(ctx context.Context, path string) (*SQL, error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, fmt.Errorf("database folder: %w", err)
	}
	var q []string
	for _, p := range pragmas {
		q = append(q, "_pragma="+p.name+"("+p.value+")")
	}
	dsn := "file:" + filepath.ToSlash(path) + "?_txlock=immediate&" + strings.Join(q, "&")
	write, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	write.SetMaxOpenConns(1)
	s := &SQL{write: write, path: path}
	if st, err := readState(path); err == nil && st.lost(path) {
		s.warnings = append(s.warnings, fail.Of(fail.BadData, path+"-wal", "verify.log", nil))
	}
	if err := s.checkPragmas(ctx); err != nil {
		return nil, errors.Join(err, write.Close())
	}
	if err := s.migrate(
		ctx,
		goose.DialectSQLite3,
		"sqlite",
		func(version int64) error { return backup(ctx, write, path, version) },
	); err != nil {
		return nil, errors.Join(err, write.Close())
	}
	names, err := strange(ctx, write)
	if err == nil && len(names) > 0 {
		err = fail.Of(fail.BadData, "database", "verify.schema", fail.Args{"name": names[0]})
	}
	if err == nil {
		err = opened(path)
	}
	if err != nil {
		return nil, errors.Join(err, write.Close())
	}
	s.read, err = sql.Open("sqlite", dsn)
	if err != nil {
		return nil, errors.Join(err, write.Close())
	}
	s.read.SetMaxOpenConns(4)
	if err := s.prepare(ctx); err != nil {
		return nil, errors.Join(err, s.read.Close(), write.Close())
	}
	return s, nil
}

// Warnings are what is not as it should be and does not keep the program from its work.
func (s *SQL) Warnings() []error { return s.warnings }

// OpenPostgres opens a database by URL and migrates it.
func OpenPostgres(ctx context.Context, url string) (*SQL, error) {
	db, err := sql.Open("pgx", url)
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	if err := db.PingContext(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("reach database: %w", err), db.Close())
	}
	db.SetMaxIdleConns(16) // a crowd at one machine opens no connection for each question
	s := &SQL{write: db, read: db, postgres: true}
	if err := s.migrate(ctx, goose.DialectPostgres, "postgres", func(int64) error { return nil }); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	if err := s.prepare(ctx); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return s, nil
}

func (s *SQL) checkPragmas(ctx context.Context) error {
	for _, p := range pragmas {
		var got string
		if err := s.write.QueryRowContext(ctx, "PRAGMA "+p.name).Scan(&got); err != nil {
			return fmt.Errorf("pragma %s: %w", p.name, err)
		}
		if got != p.readBack {
			return fmt.Errorf("the database runs with %s = %s, it must be %s", p.name, got, p.readBack)
		}
	}
	return nil
}

// backup copies an existing file before it is changed.
func backup(ctx context.Context, db *sql.DB, path string, version int64) error {
	if version == 0 {
		return nil // a new file
	}
	copyPath := fmt.Sprintf("%s.before-%d-%s", path, version+1, time.Now().UTC().Format("20060102-150405"))
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", copyPath); err != nil {
		return fmt.Errorf("backup before migrating: %w", err)
	}
	return nil
}

func (s *SQL) migrate(ctx context.Context, d goose.Dialect, dir string, before func(version int64) error) error {
	files, err := fs.Sub(migrations, "migrations/"+dir)
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(d, s.write, files)
	if err != nil {
		return fmt.Errorf("migrations: %w", err)
	}
	have, want, err := p.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("migrations: %w", err)
	}
	if have > want {
		return fmt.Errorf("this database is of version %d, the program knows version %d: use a newer program", have, want)
	}
	if have < want {
		if err := before(have); err != nil {
			return err
		}
		if _, err := p.Up(ctx); err != nil {
			return fmt.Errorf("migrations: %w", err)
		}
	}
	if err := s.checksums(ctx, files); err != nil {
		return err
	}
	for _, step := range []func(context.Context) error{s.link, s.sift, s.freshen, s.named} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

// checksums refuses a database whose migrations were other texts than the program's: goose keeps none itself.
func (s *SQL) checksums(ctx context.Context, files fs.FS) error {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return err
	}
	for _, n := range names {
		text, err := fs.ReadFile(files, n)
		if err != nil {
			return err
		}
		h := sha256.Sum256(text)
		sum := hex.EncodeToString(h[:])
		if _, err := s.write.ExecContext(
			ctx,
			"INSERT INTO checksums (name, sum) VALUES ($1, $2) ON CONFLICT (name) DO NOTHING",
			n,
			sum,
		); err != nil {
			return fmt.Errorf("checksums: %w", err)
		}
		var got string
		if err := s.write.QueryRowContext(ctx, "SELECT sum FROM checksums WHERE name = $1", n).Scan(&got); err != nil {
			return fmt.Errorf("checksums: %w", err)
		}
		if got != sum {
			return fmt.Errorf("migration %s was another text when this database was made", n)
		}
	}
	return nil
}

const (
	insertForm  = `INSERT INTO forms (form, at) VALUES ($1, $2) ON CONFLICT (form) DO NOTHING`
	insertEvent = `INSERT INTO events (id, device, seq, at, actor, site, machine, visit, kind, version, corrects, body, tick, link)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14) ON CONFLICT (id) DO NOTHING`
	// Marks count what counts: not what is in quarantine.
	countMachine = `SELECT (SELECT COUNT(*) FROM events WHERE machine = $1) - (SELECT COUNT(*) FROM quarantine WHERE machine = $1)`
	countSite    = `SELECT (SELECT COUNT(*) FROM events WHERE site = $1 AND machine = '') -
		(SELECT COUNT(*) FROM quarantine WHERE machine = '' AND site = $1)`
	selectVisit = `SELECT parent FROM things WHERE kind = 'visit' AND id = $1`
	insertThing = `INSERT INTO things (kind, id, parent) VALUES ($1, $2, $3) ON CONFLICT (kind, id) DO NOTHING`
	columns     = `id, device, seq, at, actor, site, machine, visit, kind, version, corrects, body, tick, '' AS no_link, arrival`
	linked      = `id, device, seq, at, actor, site, machine, visit, kind, version, corrects, body, tick, link, arrival`
)

// appendLock names the lock of an append among the advisory locks of a Postgres database: any number that is ours.
const appendLock = 0x636f6c6477 // "coldw"

// timeText orders as text: UTC with nine decimals.
const timeText = "2006-01-02T15:04:05.000000000Z"

// Append implements [app.Store].
func (s *SQL) Append(ctx context.Context, form string, on []app.Mark, events ...record.Event) (fresh bool, err error) {
	for _, e := range events {
		if err := e.Check(); err != nil {
			return false, err
		}
	}
	tx, err := s.write.BeginTx(ctx, s.latest())
	if err != nil {
		return false, fmt.Errorf("append: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, ignoreDone(tx.Rollback()))
		}
	}()
	if form != "" {
		r, err := s.exec(ctx, tx, insertForm, form, time.Now().UTC().Format(timeText))
		if err != nil {
			return false, fmt.Errorf("append: %w", err)
		}
		n, err := r.RowsAffected()
		if err != nil {
			return false, fmt.Errorf("append: %w", err)
		}
		if n == 0 {
			return false, ignoreDone(tx.Rollback())
		}
	}
	if s.postgres {
		// Arrival numbers are drawn before the commit: were two appends open at once, the later number could be read
		// first and the earlier one passed over by whoever follows the log. The lock goes with the transaction.
		if _, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock($1)", appendLock); err != nil {
			return false, fmt.Errorf("append: %w", err)
		}
	}
	// Only one append is open at a time: what is counted here stays so until the commit, and the numbers of a device
	// follow on, whoever writes.
	for _, h := range on {
		count, id := countMachine, h.Machine
		if id == "" {
			count, id = countSite, h.Site
		}
		n := 0
		if err := s.one(ctx, tx, count, []any{string(id)}, &n); err != nil {
			return false, fmt.Errorf("append: %w", err)
		}
		if n != h.Events {
			return false, app.Changed()
		}
	}
	ends := &heads{s: s, tx: tx, of: map[string]*record.Head{}}
	for _, e := range events {
		if lost, err := missing(ctx, tx, e.Blobs()); err != nil {
			return false, err
		} else if len(lost) > 0 {
			return false, app.BlobFirst()
		}
		head, err := ends.head(ctx, e.Device)
		if err != nil {
			return false, fmt.Errorf("append: %w", err)
		}
		after := *head
		e = after.Next(e, ends.latest)
		added, err := s.exec(
			ctx,
			tx,
			insertEvent,
			string(e.ID),
			e.Device,
			e.Seq,
			e.At.UTC().Format(timeText),
			e.By,
			string(e.Site),
			string(e.Machine),
			string(e.Visit),
			string(e.Kind),
			e.Version,
			string(e.Corrects),
			string(e.Body),
			tick(e.Order),
			e.Link,
		)
		if err != nil {
			return false, fmt.Errorf("append: %w", err)
		}
		if n, err := added.RowsAffected(); err != nil {
			return false, fmt.Errorf("append: %w", err)
		} else if n == 0 {
			continue // it is here already
		}
		*head = after
		if head.Order.After(ends.latest) {
			ends.latest = head.Order
		}
		for _, t := range things(e) {
			if t[0] == "visit" {
				var machine string
				err := s.one(ctx, tx, selectVisit, []any{t[1]}, &machine)
				if err == nil && e.Known() && machine != t[2] {
					return false, record.OtherVisit()
				}
				if err == nil {
					continue
				}
				if !errors.Is(err, sql.ErrNoRows) {
					return false, fmt.Errorf("append: %w", err)
				}
			}
			if _, err := tx.ExecContext(ctx, insertThing, t[0], t[1], t[2]); err != nil {
				return false, fmt.Errorf("append: %w", err)
			}
		}
	}
	if err := ends.save(ctx); err != nil {
		return false, fmt.Errorf("append: %w", err)
	}
	if err := s.update(ctx, tx, events); err != nil {
		return false, fmt.Errorf("append: %w", err)
	}
	if err := tx.Commit(); err != nil {
		return false, fmt.Errorf("append: %w", err)
	}
	return true, nil
}

// latest are the options of a transaction whose every statement sees what was committed before it, whatever the
// database was set to: an append looks once the one before it is through. A file has one writer at a time anyway.
func (s *SQL) latest() *sql.TxOptions {
	if s.postgres {
		return &sql.TxOptions{Isolation: sql.LevelReadCommitted}
	}
	return nil
}

func ignoreDone(err error) error {
	if errors.Is(err, sql.ErrTxDone) {
		return nil
	}
	return err
}

// things are the rows the lists need from one event: kind, id, parent.
func things(e record.Event) [][3]string {
	var out [][3]string
	if e.Kind == record.SiteSaved {
		out = append(out, [3]string{"site", string(e.Site), ""})
	}
	if e.Kind == record.MachineSaved {
		out = append(out, [3]string{"machine", string(e.Machine), string(e.Site)})
	}
	if e.Visit != "" {
		out = append(out, [3]string{"visit", string(e.Visit), string(e.Machine)})
	}
	return out
}

// scan reads events as they stand in the log; last is the arrival of the last one.
func scan(rows *sql.Rows) (events []record.Event, last int64, err error) {
	events, arrivals, err := scanAll(rows)
	if n := len(arrivals); n > 0 {
		last = arrivals[n-1]
	}
	return events, last, err
}

func scanAll(rows *sql.Rows) (events []record.Event, arrivals []int64, err error) {
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		e, arrival, err := scanOne(rows)
		if err != nil {
			return nil, nil, err
		}
		events, arrivals = append(events, e), append(arrivals, arrival)
	}
	return events, arrivals, rows.Err()
}

// scanOne reads the event of a row.
func scanOne(rows *sql.Rows) (e record.Event, arrival int64, err error) {
	var at, body string
	var order int64
	if err := rows.Scan(
		&e.ID,
		&e.Device,
		&e.Seq,
		&at,
		&e.By,
		&e.Site,
		&e.Machine,
		&e.Visit,
		&e.Kind,
		&e.Version,
		&e.Corrects,
		&body,
		&order,
		&e.Link,
		&arrival,
	); err != nil {
		return e, 0, err
	}
	e.Body, e.Order = []byte(body), ticked(order)
	e.At, err = time.Parse(time.RFC3339Nano, at)
	return e, arrival, err
}

func (s *SQL) query(ctx context.Context, of, where string, args ...any) ([]record.Event, int64, error) {
	rows, err := s.read.QueryContext(ctx, "SELECT "+of+" FROM events WHERE "+where, args...)
	if err != nil {
		return nil, 0, fmt.Errorf("read events: %w", err)
	}
	return scan(rows)
}

// MachineEvents implements [app.Store].
func (s *SQL) MachineEvents(ctx context.Context, id record.ID) ([]record.Event, error) {
	e, _, err := s.query(ctx, columns, "machine = $1 AND "+inForce, string(id))
	record.Sort(e)
	return e, err
}

// SiteEvents implements [app.Store].
func (s *SQL) SiteEvents(ctx context.Context, id record.ID) ([]record.Event, error) {
	e, _, err := s.query(ctx, columns, "site = $1 AND machine = '' AND "+inForce, string(id))
	record.Sort(e)
	return e, err
}

// Since implements [app.Store].
func (s *SQL) Since(ctx context.Context, cursor int64, limit int) ([]record.Event, int64, error) {
	e, last, err := s.query(ctx, linked, "arrival > $1 ORDER BY arrival LIMIT $2", cursor, limit)
	if len(e) == 0 {
		last = cursor
	}
	return e, last, err
}

func (s *SQL) ids(ctx context.Context, kind string) (out []record.ID, err error) {
	rows, err := s.read.QueryContext(ctx, "SELECT id FROM things WHERE kind = $1 ORDER BY id", kind)
	if err != nil {
		return nil, fmt.Errorf("list: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var id record.ID
		if err := rows.Scan(&id); err != nil {
			return nil, err
		}
		out = append(out, id)
	}
	return out, rows.Err()
}

// Sites implements [app.Store].
func (s *SQL) Sites(ctx context.Context) ([]record.ID, error) { return s.ids(ctx, "site") }

// Machines implements [app.Store].
func (s *SQL) Machines(ctx context.Context) ([]record.ID, error) { return s.ids(ctx, "machine") }

// MachineOf implements [app.Store].
func (s *SQL) MachineOf(ctx context.Context, visit record.ID) (record.ID, error) {
	var id record.ID
	err := s.read.QueryRowContext(ctx, selectVisit, string(visit)).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return "", fail.Of(fail.NotFound, "", "visit.none", nil)
	}
	return id, err
}

// Close implements [app.Store].
func (s *SQL) Close() error {
	if s.read == s.write {
		return s.write.Close()
	}
	err := errors.Join(s.read.Close(), s.write.Close())
	if err == nil && s.path != "" {
		err = closed(s.path)
	}
	return err
}
