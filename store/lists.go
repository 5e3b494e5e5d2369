package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/record"
)

// The tables that lists and the search read. They follow from the log by [app.Lists], are changed in the same
// transaction and can be made again.

const (
	// Taking the row first makes two writers of one machine wait for each other, so that the later one sees the events of both.
	lockCard = `INSERT INTO cards (machine, site, rank, sorting, name, card) VALUES ($1, '', 0, 0, '', '')
		ON CONFLICT (machine) DO UPDATE SET machine = excluded.machine`
	saveCard = `UPDATE cards SET site = $2, rank = $3, sorting = $4, name = $5, card = $6 WHERE machine = $1`
	saveSite = `INSERT INTO sites (site, name, body) VALUES ($1, $2, $3)
		ON CONFLICT (site) DO UPDATE SET name = excluded.name, body = excluded.body`
	saveDoc = `INSERT INTO docs (kind, id, machine, site, place, at, title, content) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
		ON CONFLICT (kind, id) DO UPDATE SET machine = excluded.machine, site = excluded.site, at = excluded.at,
		title = excluded.title, content = excluded.content RETURNING doc`
	insertWord = `INSERT INTO words (word, doc) VALUES ($1, $2) ON CONFLICT (word, doc) DO NOTHING`
	deleteWord = `DELETE FROM words WHERE word = $1 AND doc = $2`
	deleteDoc  = `DELETE FROM docs WHERE doc = $1`
	docColumns = `kind, id, machine, site, at, title, content`
)

// update makes the rows of what some events touched.
func (s *SQL) update(ctx context.Context, tx *sql.Tx, events []record.Event) error {
	machines, sites := map[record.ID]bool{}, map[record.ID]bool{}
	for _, e := range events {
		switch {
		case e.Machine != "":
			machines[e.Machine] = true
		case e.Kind == record.SiteSaved:
			sites[e.Site] = true
		}
	}
	for _, id := range sorted(sites) {
		site, ok, err := siteIn(ctx, tx, id)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		body, err := json.Marshal(site)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, saveSite, string(id), site.Name, string(body)); err != nil {
			return fmt.Errorf("site: %w", err)
		}
		d := app.SiteDoc(site)
		old, err := docsIn(ctx, tx, "kind = 'site' AND id = $1", id)
		if err != nil {
			return err
		}
		if err := save(ctx, tx, old, []app.Doc{d}); err != nil {
			return err
		}
		// What its machines are found by holds the name of the site.
		list, err := column[record.ID](ctx, tx, "SELECT machine FROM cards WHERE site = $1", string(id))
		if err != nil {
			return err
		}
		for _, m := range list {
			machines[m] = true
		}
	}
	for _, id := range sorted(machines) {
		if err := s.updateMachine(ctx, tx, id); err != nil {
			return err
		}
	}
	return nil
}

func sorted(m map[record.ID]bool) []record.ID {
	out := make([]record.ID, 0, len(m))
	for id := range m {
		out = append(out, id)
	}
	slices.Sort(out)
	return out
}

func (s *SQL) updateMachine(ctx context.Context, tx *sql.Tx, id record.ID) error {
	var there int
	if err := tx.QueryRowContext(ctx, "SELECT COUNT(*) FROM things WHERE kind = 'machine' AND id = $1", string(id)).
		Scan(&there); err != nil ||
		there == 0 {
		return err // its plate has not arrived yet
	}
	if _, err := tx.ExecContext(ctx, lockCard, string(id)); err != nil {
		return fmt.Errorf("card: %w", err)
	}
	rows, err := tx.QueryContext(ctx, "SELECT "+columns+" FROM events WHERE machine = $1 AND "+inForce, string(id))
	if err != nil {
		return err
	}
	events, _, err := scan(rows)
	if err != nil {
		return err
	}
	var site record.Site
	for _, e := range events {
		if e.Kind == record.MachineSaved && e.Known() {
			if site, _, err = siteIn(ctx, tx, e.Site); err != nil {
				return err
			}
		}
	}
	card, docs, ok := app.Lists(site, events)
	if !ok {
		// Every plate of it was taken back.
		if _, err := tx.ExecContext(ctx, "DELETE FROM cards WHERE machine = $1", string(id)); err != nil {
			return err
		}
	} else {
		text, err := card.Encode()
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(
			ctx,
			saveCard,
			string(id),
			string(card.Site.ID),
			int(card.Rank),
			card.Key,
			card.Body.Name,
			text,
		); err != nil {
			return fmt.Errorf("card: %w", err)
		}
	}
	old, err := docsIn(ctx, tx, "machine = $1", id)
	if err != nil {
		return err
	}
	return save(ctx, tx, old, docs)
}

func siteIn(ctx context.Context, tx *sql.Tx, id record.ID) (record.Site, bool, error) {
	rows, err := tx.QueryContext(ctx, "SELECT "+columns+" FROM events WHERE site = $1 AND machine = '' AND "+inForce, string(id))
	if err != nil {
		return record.Site{}, false, err
	}
	events, _, err := scan(rows)
	if err != nil {
		return record.Site{}, false, err
	}
	v, ok := record.ProjectSite(events)
	return v, ok, nil
}

// kept is a document as the table holds it.
type kept struct {
	doc int64
	app.Doc
}

func docsIn(ctx context.Context, tx *sql.Tx, where string, id record.ID) (out []kept, err error) {
	rows, err := tx.QueryContext(ctx, "SELECT doc, "+docColumns+" FROM docs WHERE "+where, string(id))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var k kept
		var at string
		if err := rows.Scan(&k.doc, &k.Kind, &k.ID, &k.Machine, &k.Site, &at, &k.Title, &k.Text); err != nil {
			return nil, err
		}
		if k.At, err = time.Parse(timeText, at); err != nil {
			return nil, err
		}
		out = append(out, k)
	}
	return out, rows.Err()
}

// save turns the old documents into the new ones and touches only what differs.
func save(ctx context.Context, tx *sql.Tx, old []kept, docs []app.Doc) error {
	was := map[[2]string]kept{}
	for _, k := range old {
		was[[2]string{k.Kind, string(k.ID)}] = k
	}
	for _, d := range docs {
		key := [2]string{d.Kind, string(d.ID)}
		k, there := was[key]
		delete(was, key)
		if there && k.Doc == d {
			continue
		}
		var doc int64
		if err := tx.QueryRowContext(ctx, saveDoc, d.Kind, string(d.ID), string(d.Machine), string(d.Site), d.Order(),
			d.At.UTC().Format(timeText), d.Title, d.Text).
			Scan(&doc); err != nil {
			return fmt.Errorf("search: %w", err)
		}
		var before []string
		if there {
			before = k.Words()
		}
		after := d.Words()
		for _, w := range before {
			if _, ok := slices.BinarySearch(after, w); !ok {
				if _, err := tx.ExecContext(ctx, deleteWord, w, doc); err != nil {
					return fmt.Errorf("search: %w", err)
				}
			}
		}
		for _, w := range after {
			if _, ok := slices.BinarySearch(before, w); !ok {
				if _, err := tx.ExecContext(ctx, insertWord, w, doc); err != nil {
					return fmt.Errorf("search: %w", err)
				}
			}
		}
	}
	for _, k := range was {
		for _, w := range k.Words() {
			if _, err := tx.ExecContext(ctx, deleteWord, w, k.doc); err != nil {
				return fmt.Errorf("search: %w", err)
			}
		}
		if _, err := tx.ExecContext(ctx, deleteDoc, k.doc); err != nil {
			return fmt.Errorf("search: %w", err)
		}
	}
	return nil
}

// rebuild empties the lists and makes them from the log, in the caller's transaction.
func (s *SQL) rebuild(ctx context.Context, tx *sql.Tx) error {
	for _, table := range []string{"things", "cards", "sites", "docs", "words"} {
		if _, err := tx.ExecContext(ctx, "DELETE FROM "+table); err != nil {
			return err
		}
	}
	if err := each(ctx, tx, inForce, func(_ int64, e record.Event) error {
		for _, t := range things(e) {
			if _, err := tx.ExecContext(ctx, insertThing, t[0], t[1], t[2]); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		return err
	}
	for _, kind := range []string{"site", "machine"} {
		ids, err := column[record.ID](ctx, tx, "SELECT id FROM things WHERE kind = $1 ORDER BY id", kind)
		if err != nil {
			return err
		}
		for _, id := range ids {
			e := record.Event{Kind: record.SiteSaved, Site: id}
			if kind == "machine" {
				e = record.Event{Kind: record.MachineSaved, Machine: id}
			}
			if err := s.update(ctx, tx, []record.Event{e}); err != nil {
				return err
			}
		}
	}
	return nil
}

// freshen makes the lists again when another version of the program made them.
func (s *SQL) freshen(ctx context.Context) (err error) {
	const name = "lists"
	var have string
	err = s.write.QueryRowContext(ctx, "SELECT sum FROM checksums WHERE name = $1", name).Scan(&have)
	if err != nil && !errors.Is(err, sql.ErrNoRows) || have == app.ListsVersion {
		return err
	}
	return s.within(ctx, func(tx *sql.Tx) error {
		if err := s.rebuild(ctx, tx); err != nil {
			return err
		}
		_, err := tx.ExecContext(
			ctx,
			"INSERT INTO checksums (name, sum) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET sum = excluded.sum",
			name,
			app.ListsVersion,
		)
		return err
	})
}

// within runs f in a transaction.
func (s *SQL) within(ctx context.Context, f func(*sql.Tx) error) (err error) {
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, ignoreDone(tx.Rollback()))
		}
	}()
	if err := f(tx); err != nil {
		return err
	}
	return tx.Commit()
}

// Rebuild makes the lists again from the log.
func (s *SQL) Rebuild(ctx context.Context) error {
	return s.within(ctx, func(tx *sql.Tx) error { return s.rebuild(ctx, tx) })
}

// asker is what a question is asked of: a database, or a transaction in it.
type asker interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// column is what a question of one column answers.
func column[T any](ctx context.Context, q asker, text string, args ...any) (out []T, err error) {
	rows, err := q.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var v T
		if err := rows.Scan(&v); err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// A term that few words begin with can be looked up word by word in a document; one with more is answered by a list of its documents.
const fewWords = 16

// counted bounds how far the documents of a term are counted to find the rarest.
const counted = 20000

// termsWhere is the condition that a document answers every term; args grows with it. The rarest term lists its
// documents, in which the others are looked up: listing the documents of a common word costs more than all the rest.
func (s *SQL) termsWhere(ctx context.Context, terms []string, args *[]any) (string, error) {
	// Every word that begins so lies between the term and the term followed by the last code point.
	end := func(t string) string { return t + "\U0010FFFF" }
	rarest, fewest := 0, counted+1
	if len(terms) > 1 {
		for i, t := range terms {
			n := 0
			q := fmt.Sprintf("SELECT COUNT(*) FROM (SELECT 1 FROM words WHERE word >= $1 AND word < $2 LIMIT %d) AS found", counted)
			if err := s.read.QueryRowContext(ctx, q, t, end(t)).Scan(&n); err != nil {
				return "", err
			}
			if n < fewest {
				rarest, fewest = i, n
			}
		}
	}
	var parts []string
	before := len(*args)
	for i, t := range terms {
		if i != rarest {
			words, err := s.wordsOf(ctx, t, end(t))
			if err != nil {
				return "", err
			}
			if len(words) == 0 {
				*args = (*args)[:before]
				return "1 = 0", nil
			}
			if len(words) <= fewWords {
				parts = append(parts, "EXISTS (SELECT 1 FROM words AS w WHERE w.doc = docs.doc AND w.word IN ("+list(words, args)+"))")
				continue
			}
		}
		*args = append(*args, t, end(t))
		parts = append(parts, fmt.Sprintf("doc IN (SELECT doc FROM words WHERE word >= $%d AND word < $%d)", len(*args)-1, len(*args)))
	}
	return strings.Join(parts, " AND "), nil
}

// wordsOf are the first words from one to before another, one more than few at the most. Each is found from the one
// before it: a common word stands in the table once for each of its documents.
func (s *SQL) wordsOf(ctx context.Context, from, to string) (out []string, err error) {
	q := "SELECT MIN(word) FROM words WHERE word >= $1 AND word < $2"
	for len(out) <= fewWords {
		var w sql.NullString
		if err := s.read.QueryRowContext(ctx, q, from, to).Scan(&w); err != nil {
			return nil, err
		}
		if !w.Valid {
			break
		}
		out, from = append(out, w.String), w.String
		q = "SELECT MIN(word) FROM words WHERE word > $1 AND word < $2"
	}
	return out, nil
}

// Cards implements [app.Store].
func (s *SQL) Cards(ctx context.Context, q app.CardQuery) ([]app.Card, int, error) {
	var args []any
	where := []string{"rank > 0"}
	if q.Site != "" {
		args = append(args, string(q.Site))
		where = append(where, "site = $1")
	}
	if q.Machines != nil {
		in := list(append([]record.ID{""}, q.Machines...), &args) // never an empty list, which is no SQL
		where = append(where, "machine IN ("+in+")")
	}
	if len(q.Terms) > 0 {
		answers, err := s.termsWhere(ctx, q.Terms, &args)
		if err != nil {
			return nil, 0, fmt.Errorf("list: %w", err)
		}
		where = append(where, "machine IN (SELECT id FROM docs WHERE kind = 'machine' AND "+answers+")")
	}
	cond := strings.Join(where, " AND ")
	total := 0
	if err := s.read.QueryRowContext(ctx, "SELECT COUNT(*) FROM cards WHERE "+cond, args...).Scan(&total); err != nil {
		return nil, 0, fmt.Errorf("list: %w", err)
	}
	args = append(args, q.Limit, q.Offset)
	page := fmt.Sprintf(
		"SELECT card FROM cards WHERE %s ORDER BY rank, sorting, name, machine LIMIT $%d OFFSET $%d", cond, len(args)-1, len(args),
	)
	texts, err := column[string](ctx, s.read, page, args...)
	if err != nil {
		return nil, 0, fmt.Errorf("list: %w", err)
	}
	out := make([]app.Card, len(texts))
	for i, t := range texts {
		if out[i], err = app.DecodeCard(t); err != nil {
			return nil, 0, err
		}
	}
	return out, total, nil
}

// SiteCards implements [app.Store].
func (s *SQL) SiteCards(ctx context.Context) ([]record.Site, error) {
	texts, err := column[string](ctx, s.read, "SELECT body FROM sites ORDER BY name, site")
	if err != nil {
		return nil, fmt.Errorf("list: %w", err)
	}
	out := make([]record.Site, len(texts))
	for i, t := range texts {
		if err := json.Unmarshal([]byte(t), &out[i]); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Search implements [app.Store].
func (s *SQL) Search(ctx context.Context, terms []string, offset, limit int) (out []app.Doc, err error) {
	if len(terms) == 0 {
		return nil, nil
	}
	var args []any
	cond, err := s.termsWhere(ctx, terms, &args)
	if err != nil {
		return nil, fmt.Errorf("search: %w", err)
	}
	args = append(args, limit, offset)
	rows, err := s.read.QueryContext(
		ctx,
		fmt.Sprintf(
			"SELECT %s FROM docs WHERE %s ORDER BY place, at DESC, title, id LIMIT $%d OFFSET $%d",
			docColumns,
			cond,
			len(args)-1,
			len(args),
		),
		args...)
	if err != nil {
		return nil, fmt.Errorf("search: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var d app.Doc
		var at string
		if err := rows.Scan(&d.Kind, &d.ID, &d.Machine, &d.Site, &at, &d.Title, &d.Text); err != nil {
			return nil, err
		}
		if d.At, err = time.Parse(timeText, at); err != nil {
			return nil, err
		}
		out = append(out, d)
	}
	return out, rows.Err()
}

// Kinds implements [app.Store].
func (s *SQL) Kinds(ctx context.Context, cursor int64, limit int, kinds ...record.Kind) ([]record.Event, int64, error) {
	// Each kind is read along its index and only as far as the limit; one condition for all of them would sort everything after the cursor.
	args := []any{cursor, limit}
	var parts []string
	for i, k := range kinds {
		args = append(args, string(k))
		parts = append(
			parts,
			fmt.Sprintf(
				"SELECT * FROM (SELECT %s FROM events WHERE kind = $%d AND arrival > $1 AND %s ORDER BY arrival LIMIT $2) AS k%d",
				columns,
				i+3,
				inForce,
				i,
			),
		)
	}
	if len(parts) == 0 {
		return nil, cursor, nil
	}
	rows, err := s.read.QueryContext(
		ctx,
		"SELECT * FROM ("+strings.Join(parts, " UNION ALL ")+") AS k ORDER BY arrival LIMIT $2",
		args...)
	if err != nil {
		return nil, 0, fmt.Errorf("read events: %w", err)
	}
	e, last, err := scan(rows)
	if len(e) == 0 {
		last = cursor
	}
	return e, last, err
}

// list adds values to the arguments and returns their places.
func list[T ~string](values []T, args *[]any) string {
	var places []string
	for _, v := range values {
		*args = append(*args, string(v))
		places = append(places, fmt.Sprintf("$%d", len(*args)))
	}
	return strings.Join(places, ", ")
}

// ByID implements [app.Store].
func (s *SQL) ByID(ctx context.Context, ids ...record.ID) ([]record.Event, error) {
	var out []record.Event
	for part := range slices.Chunk(ids, 500) {
		var args []any
		in := list(part, &args)
		e, _, err := s.query(ctx, columns, "id IN ("+in+")", args...)
		if err != nil {
			return nil, err
		}
		out = append(out, e...)
	}
	record.Sort(out)
	return out, nil
}
