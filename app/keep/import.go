package keep

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/internal/table"
	"coldwright/record"
	"coldwright/say/text"
)

// Plan is what an import would do.
type Plan struct {
	New      []record.Event `json:"-"`
	Blobs    []record.Blob  `json:"-"`
	Added    int            `json:"added"` // events that are new
	Known    int            `json:"known"` // events that are here already, or twice in the file
	Sites    []string       `json:"new_sites"`
	Machines []string       `json:"new_machines"`
	Visits   int            `json:"new_visits"`
	Contents int            `json:"new_contents"` // pictures and files that are new
	Rejected []Rejected     `json:"rejected"`
}

// Rejected is a line that is not taken. Code: not_json, bad_event, twice, other_content, no_content.
type Rejected struct {
	Line   int    `json:"line"`
	Code   string `json:"code"`
	Detail string `json:"detail,omitempty"`
	Text   string `json:"text"`
}

// mostRejected is how many lines are listed that are not taken: a file of more is another kind of file.
const mostRejected = 5000

// maxLine is longer than any event and any picture or file in base64.
const maxLine = record.BlobLimit/3*4 + 64<<10

// inWords is what is wrong with a line, as its reader says it.
func inWords(err error) string {
	var known *fail.Error
	if !errors.As(err, &known) {
		return err.Error() // a decoder's own line
	}
	return text.Voice{Language: text.English}.Mistake(err).Line()
}

// PlanImport reads events and says what an import would do; nothing is changed.
//
//   - in: JSON lines or CSV, as [Export] and [ExportCSV] write them; empty lines are passed over
//   - errors: the file cannot be read at all, or a line is longer than 11 MB; the store fails
//   - cost: the file is held in memory
func PlanImport(ctx context.Context, a *app.App, r io.Reader) (*Plan, error) {
	store := a.Store()
	p := &Plan{Sites: []string{}, Machines: []string{}, Rejected: []Rejected{}}
	type numbered struct {
		line int
		text string
		e    record.Event
		bad  error // it is not what its link says
	}
	var events []numbered
	in := bufio.NewReader(r)
	head, err := in.Peek(len("id,device,"))
	if err != nil && err != io.EOF {
		return nil, err
	}
	tooMany := func() error {
		if len(p.Rejected) > mostRejected {
			return fail.Of(fail.BadData, fmt.Sprintf("line %d", p.Rejected[mostRejected].Line), "import.many", fail.Args{"limit": mostRejected})
		}
		return nil
	}
	take := func(line int, text string, e record.Event, err error) {
		code := "not_json"
		if err == nil {
			code, err = "bad_event", e.Check()
		}
		var broken error
		if err != nil && e.Link != "" && e.Link != e.Hash(e.Prev) {
			// What is here under its id may say more.
			broken = err
			e.Prev, e.Link = "", ""
			err = e.Check()
		}
		if err != nil {
			p.Rejected = append(p.Rejected, Rejected{line, code, inWords(err), text})
			return
		}
		e.At = e.At.UTC()
		if e.Order.IsZero() { // of an export of before, or written by hand: it stands at its own time, not behind all that is here
			e.Order = e.At
		}
		events = append(events, numbered{line, text, e, broken})
	}
	blobs := map[string]record.Blob{}
	content := func(line int, text string, b record.Blob, err error) {
		code := "not_json"
		if err == nil {
			code, err = "bad_event", b.Check()
		}
		if err != nil {
			p.Rejected = append(p.Rejected, Rejected{line, code, inWords(err), text})
			return
		}
		blobs[b.Hash] = b
	}
	if string(head) == "id,device," {
		if err := readCSV(table.Lines(in, maxLine), tooMany, take, content); err != nil {
			return nil, err
		}
	} else {
		sc := bufio.NewScanner(in)
		sc.Buffer(nil, maxLine)
		line := 0
		for sc.Scan() {
			line++
			if err := tooMany(); err != nil {
				return nil, err
			}
			text := strings.TrimPrefix(sc.Text(), "\ufeff")
			if strings.TrimSpace(text) == "" {
				continue
			}
			var x struct {
				record.Event
				blobLine
			}
			err := json.Unmarshal([]byte(text), &x)
			if x.Blob != "" {
				content(line, text, record.Blob{Hash: x.Blob, Type: x.Type, Bytes: x.Bytes}, err)
				continue
			}
			take(line, text, x.Event, unlike(err))
		}
		if err := sc.Err(); errors.Is(err, bufio.ErrTooLong) {
			return nil, fail.Of(fail.BadData, fmt.Sprintf("line %d", line+1), "table.line_long", fail.Args{"limit": maxLine >> 10})
		} else if err != nil {
			return nil, fail.Of(fail.BadData, fmt.Sprintf("line %d", line+1), "import.line", fail.Args{"why": err})
		}
	}
	// What is neither here nor in the file: the events that name it wait until it comes.
	lost := map[string]bool{}
	var hashes []string
	for h := range blobs {
		hashes = append(hashes, h)
	}
	for _, n := range events {
		hashes = append(hashes, n.e.Blobs()...)
	}
	slices.Sort(hashes)
	notHere, err := store.MissingBlobs(ctx, slices.Compact(hashes)...)
	if err != nil {
		return nil, err
	}
	for _, h := range notHere {
		if b, ok := blobs[h]; ok {
			p.Blobs = append(p.Blobs, b)
		} else {
			lost[h] = true
		}
	}
	p.Contents = len(p.Blobs)
	ids := make([]record.ID, len(events))
	for i, n := range events {
		ids[i] = n.e.ID
	}
	have := map[record.ID]record.Event{}
	for part := range slices.Chunk(ids, 2000) {
		there, err := store.ByID(ctx, part...)
		if err != nil {
			return nil, err
		}
		for _, e := range there {
			have[e.ID] = e
		}
	}
	named := map[record.ID]record.Event{}
	var others []record.ID
	for _, n := range events {
		named[n.e.ID] = n.e
		others = append(others, n.e.Names()...)
	}
	slices.Sort(others)
	for part := range slices.Chunk(slices.Compact(others), 2000) {
		there, err := store.ByID(ctx, part...)
		if err != nil {
			return nil, err
		}
		for _, e := range there {
			named[e.ID] = e
		}
	}
	begun := map[record.ID]bool{}
	for _, n := range events {
		if n.e.Kind == record.VisitOpened {
			begun[n.e.Visit] = true
		}
	}
	machineOf := map[record.ID]record.ID{}
	refers := func(e record.Event) error {
		if err := e.Ahead(a.Now()); err != nil {
			return err
		}
		for _, id := range e.Names() {
			other, ok := named[id]
			if !ok {
				return record.Unnamed(id)
			}
			if err := e.Fits(other); err != nil {
				return err
			}
		}
		if given, ours, err := a.Given(ctx, e.Device); err != nil {
			return err
		} else if ours && (e.Seq > given.Seq || e.Order.After(given.Order)) {
			return record.NotOurs()
		}
		if e.Visit == "" {
			return nil
		}
		m, known := machineOf[e.Visit]
		if !known {
			var err error
			if m, err = store.MachineOf(ctx, e.Visit); err != nil && fail.CodeOf(err) != fail.NotFound {
				return err
			}
			if m == "" {
				if e.Known() && !begun[e.Visit] {
					return record.NoVisit()
				}
				m = e.Machine
			}
			machineOf[e.Visit] = m
		}
		if m != e.Machine {
			return record.OtherVisit()
		}
		return nil
	}
	inFile := map[record.ID]bool{}
	visits := map[record.ID]bool{}
	sites, machines := map[record.ID]string{}, map[record.ID]string{}
	for _, n := range events {
		old, there := have[n.e.ID]
		if there && !alike(old, n.e) {
			code := "other_content"
			if inFile[n.e.ID] {
				code = "twice"
			}
			p.Rejected = append(p.Rejected, Rejected{n.line, code, "", n.text})
			continue
		}
		if n.bad != nil {
			p.Rejected = append(p.Rejected, Rejected{n.line, "bad_event", inWords(n.bad), n.text})
			continue
		}
		if there {
			p.Known++
			continue
		}
		if slices.ContainsFunc(n.e.Blobs(), func(h string) bool { return lost[h] }) {
			p.Rejected = append(p.Rejected, Rejected{n.line, "no_content", "", n.text})
			continue
		}
		if err := refers(n.e); err != nil {
			var f *fail.Error
			if !errors.As(err, &f) {
				return nil, err
			}
			p.Rejected = append(p.Rejected, Rejected{n.line, "bad_event", inWords(err), n.text})
			continue
		}
		have[n.e.ID], inFile[n.e.ID] = n.e, true
		p.New = append(p.New, n.e)
		switch n.e.Kind {
		case record.SiteSaved:
			var b record.SiteBody
			if json.Unmarshal(n.e.Body, &b) == nil {
				sites[n.e.Site] = b.Name
			}
		case record.MachineSaved:
			var b record.MachineBody
			if json.Unmarshal(n.e.Body, &b) == nil {
				machines[n.e.Machine] = b.Name
			}
		}
		if n.e.Visit != "" {
			visits[n.e.Visit] = true
		}
	}
	slices.SortStableFunc(p.Rejected, func(a, b Rejected) int { return cmp.Compare(a.Line, b.Line) })
	p.Added = len(p.New)
	// What is there under the same id is changed, not new.
	for id, name := range sites {
		if old, err := store.SiteEvents(ctx, id); err != nil {
			return nil, err
		} else if len(old) == 0 {
			p.Sites = append(p.Sites, name)
		}
	}
	for id, name := range machines {
		if old, err := store.MachineEvents(ctx, id); err != nil {
			return nil, err
		} else if len(old) == 0 {
			p.Machines = append(p.Machines, name)
		}
	}
	for id := range visits {
		if _, err := store.MachineOf(ctx, id); fail.CodeOf(err) == fail.NotFound {
			p.Visits++
		} else if err != nil {
			return nil, err
		}
	}
	slices.Sort(p.Sites)
	slices.Sort(p.Machines)
	return p, nil
}

// readCSV hands on each row as an event or as a picture or file.
func readCSV(
	in io.Reader,
	tooMany func() error,
	take func(line int, text string, e record.Event, err error),
	content func(line int, text string, b record.Blob, err error),
) error {
	rows := csv.NewReader(in)
	rows.FieldsPerRecord = -1
	head, err := rows.Read()
	if err != nil || !slices.Equal(head, csvColumns) && !slices.Equal(head, csvColumns[:csvBefore]) {
		return fail.Of(fail.BadData, "line 1", "import.columns", fail.Args{"columns": csvColumns})
	}
	for {
		if err := tooMany(); err != nil {
			return err
		}
		row, err := rows.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			var wrong *csv.ParseError
			if errors.As(err, &wrong) {
				return fail.Of(fail.BadData, fmt.Sprintf("line %d", wrong.Line), "import.broken",
					fail.Args{"why": wrong.Err})
			}
			return err
		}
		line, _ := rows.FieldPos(0)
		if len(row) == len(head) && row[8] == blobKind {
			var b blobBody
			err := json.Unmarshal([]byte(row[11]), &b)
			content(line, strings.Join(row, ","), record.Blob{Hash: row[0], Type: b.Type, Bytes: b.Bytes}, err)
			continue
		}
		e, err := eventOf(row, len(head))
		take(line, strings.Join(row, ","), e, err)
	}
}

// unlike says in our words why a line of JSON is no event.
func unlike(err error) error {
	var kind *json.UnmarshalTypeError
	var clock *time.ParseError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &kind) && kind.Field == "":
		return fail.Of(fail.BadData, "", "import.no_event", nil)
	case errors.As(err, &kind):
		return fail.Of(fail.BadData, strings.TrimPrefix(kind.Field, "Event."), "import.value", nil)
	case errors.As(err, &clock):
		return fail.Of(fail.BadData, "at, order", "import.value", nil) // it does not say which
	}
	return fail.Of(fail.BadData, "", "event.not_json", nil)
}

func eventOf(row []string, columns int) (e record.Event, err error) {
	if len(row) != columns {
		return e, fail.Of(fail.BadData, "", "import.cells", fail.Args{"cells": len(row), "columns": columns})
	}
	seq, err1 := strconv.ParseInt(row[2], 10, 64)
	at, err2 := time.Parse(time.RFC3339Nano, row[3])
	version, err3 := strconv.Atoi(row[9])
	for _, c := range []struct {
		column int
		err    error
	}{{2, err1}, {3, err2}, {9, err3}} {
		if c.err != nil {
			return e, fail.Of(fail.BadData, csvColumns[c.column], "import.value", nil)
		}
	}
	e = record.Event{
		ID:       record.ID(row[0]),
		Device:   outOfCell(row[1]),
		Seq:      seq,
		At:       at,
		By:       outOfCell(row[4]),
		Site:     record.ID(outOfCell(row[5])),
		Machine:  record.ID(outOfCell(row[6])),
		Visit:    record.ID(outOfCell(row[7])),
		Kind:     record.Kind(outOfCell(row[8])),
		Version:  version,
		Corrects: record.ID(outOfCell(row[10])),
		Body:     json.RawMessage(row[11]),
	}
	if columns > csvBefore {
		if row[csvBefore] != "" {
			if e.Order, err = time.Parse(time.RFC3339Nano, row[csvBefore]); err != nil {
				err = fail.Of(fail.BadData, csvColumns[csvBefore], "import.value", nil)
			}
		}
		e.Prev, e.Link = row[csvBefore+1], row[csvBefore+2]
	}
	return e, err
}

// alike reports whether two events say the same; spaces in the body do not count, nor a number that b does not have,
// nor where each stands in a chain: that is a matter of the store it came from.
func alike(a, b record.Event) bool {
	for _, e := range []*record.Event{&a, &b} {
		e.Order, e.Prev, e.Link = time.Time{}, "", ""
	}
	if b.Seq == 0 {
		b.Seq = a.Seq
	}
	a.At, b.At = a.At.UTC(), b.At.UTC()
	x, err1 := json.Marshal(a)
	y, err2 := json.Marshal(b)
	return err1 == nil && err2 == nil && bytes.Equal(x, y)
}

// Import appends what a plan found new, all or none; pictures and files first, so that no event stands without its own.
func Import(ctx context.Context, a *app.App, act app.Act, p *Plan) error {
	store := a.Store()
	for _, b := range p.Blobs {
		if err := store.PutBlobs(ctx, b); err != nil {
			return err
		}
	}
	if len(p.New) == 0 {
		return nil
	}
	_, err := store.Append(ctx, act.Form, nil, p.New...)
	return err
}
