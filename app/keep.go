package app

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

	"coldwright/fail"
	"coldwright/record"
)

// csvColumns are the columns of events as CSV.
var csvColumns = []string{"id", "device", "seq", "at", "by", "site", "machine", "visit", "kind", "version", "corrects", "body"}

// Export calls f with every event in order of arrival, as one JSON line each.
func (a *App) Export(ctx context.Context, f func(line []byte) error) error {
	return a.each(ctx, func(e record.Event) error {
		b, err := json.Marshal(e)
		if err != nil {
			return err
		}
		return f(append(b, '\n'))
	})
}

// ExportCSV writes every event in order of arrival as a row; the last column is the body as JSON, so that nothing is lost.
func (a *App) ExportCSV(ctx context.Context, w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(csvColumns); err != nil {
		return err
	}
	err := a.each(ctx, func(e record.Event) error {
		return out.Write([]string{
			string(e.ID), e.Device, strconv.FormatInt(e.Seq, 10), e.At.UTC().Format(time.RFC3339Nano), e.By, string(e.Site), string(e.Machine), string(e.Visit), string(e.Kind),
			strconv.Itoa(e.Version), string(e.Corrects), string(e.Body),
		})
	})
	out.Flush()
	return errors.Join(err, out.Error())
}

func (a *App) each(ctx context.Context, f func(record.Event) error) error {
	cursor := int64(0)
	for {
		events, next, err := a.store.Since(ctx, cursor, 500)
		if err != nil || len(events) == 0 {
			return err
		}
		for _, e := range events {
			if err := f(e); err != nil {
				return err
			}
		}
		cursor = next
	}
}

// ImportPlan is what an import would do.
type ImportPlan struct {
	New      []record.Event `json:"-"`
	Added    int            `json:"added"` // events that are new
	Known    int            `json:"known"` // events that are here already, or twice in the file
	Sites    []string       `json:"new_sites"`
	Machines []string       `json:"new_machines"`
	Visits   int            `json:"new_visits"`
	Rejected []Rejected     `json:"rejected"`
}

// Rejected is a line that is not taken. Code: not_json, bad_event, twice, other_content.
type Rejected struct {
	Line   int    `json:"line"`
	Code   string `json:"code"`
	Detail string `json:"detail,omitempty"`
	Text   string `json:"text"`
}

// maxLine is longer than any event.
const maxLine = 4 << 20

// PlanImport reads events and says what an import would do; nothing is changed.
//
//   - in: JSON lines or CSV, as [App.Export] and [App.ExportCSV] write them; empty lines are passed over
//   - errors: the file cannot be read at all, or a line is longer than 4 MiB; the store fails
//   - cost: the file is held in memory
func (a *App) PlanImport(ctx context.Context, r io.Reader) (*ImportPlan, error) {
	p := &ImportPlan{Sites: []string{}, Machines: []string{}, Rejected: []Rejected{}}
	type numbered struct {
		line int
		text string
		e    record.Event
	}
	var events []numbered
	in := bufio.NewReader(r)
	head, err := in.Peek(len("id,device,"))
	if err != nil && err != io.EOF {
		return nil, err
	}
	take := func(line int, text string, e record.Event, err error) {
		code := "not_json"
		if err == nil {
			code, err = "bad_event", e.Check()
		}
		if err != nil {
			p.Rejected = append(p.Rejected, Rejected{line, code, err.Error(), text})
			return
		}
		e.At = e.At.UTC()
		events = append(events, numbered{line, text, e})
	}
	if string(head) == "id,device," {
		if err := readCSV(in, take); err != nil {
			return nil, err
		}
	} else {
		sc := bufio.NewScanner(in)
		sc.Buffer(nil, maxLine)
		line := 0
		for sc.Scan() {
			line++
			text := strings.TrimPrefix(sc.Text(), "\ufeff")
			if strings.TrimSpace(text) == "" {
				continue
			}
			var e record.Event
			err := json.Unmarshal([]byte(text), &e)
			take(line, text, e, err)
		}
		if err := sc.Err(); err != nil {
			return nil, fail.New(fail.BadData, fmt.Sprintf("line %d", line+1), err.Error(), "a line is one event")
		}
	}
	ids := make([]record.ID, len(events))
	for i, n := range events {
		ids[i] = n.e.ID
	}
	have := map[record.ID]record.Event{}
	for part := range slices.Chunk(ids, 2000) {
		there, err := a.store.ByID(ctx, part...)
		if err != nil {
			return nil, err
		}
		for _, e := range there {
			have[e.ID] = e
		}
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
		if there {
			p.Known++
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
		if old, err := a.store.SiteEvents(ctx, id); err != nil {
			return nil, err
		} else if len(old) == 0 {
			p.Sites = append(p.Sites, name)
		}
	}
	for id, name := range machines {
		if old, err := a.store.MachineEvents(ctx, id); err != nil {
			return nil, err
		} else if len(old) == 0 {
			p.Machines = append(p.Machines, name)
		}
	}
	for id := range visits {
		if _, err := a.store.MachineOf(ctx, id); fail.CodeOf(err) == fail.NotFound {
			p.Visits++
		} else if err != nil {
			return nil, err
		}
	}
	slices.Sort(p.Sites)
	slices.Sort(p.Machines)
	return p, nil
}

// readCSV hands on each row as an event.
func readCSV(in io.Reader, take func(line int, text string, e record.Event, err error)) error {
	rows := csv.NewReader(in)
	rows.FieldsPerRecord = -1
	head, err := rows.Read()
	if err != nil || !slices.Equal(head, csvColumns) {
		return fail.New(fail.BadData, "line 1", "the columns are not those of an export", "they are "+strings.Join(csvColumns, ","))
	}
	for {
		row, err := rows.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			var wrong *csv.ParseError
			if errors.As(err, &wrong) {
				return fail.New(fail.BadData, fmt.Sprintf("line %d", wrong.Line), wrong.Err.Error(), "nothing after it can be read")
			}
			return err
		}
		line, _ := rows.FieldPos(0)
		e, err := eventOf(row)
		take(line, strings.Join(row, ","), e, err)
	}
}

func eventOf(row []string) (e record.Event, err error) {
	if len(row) != len(csvColumns) {
		return e, fmt.Errorf("%d cells, there are %d columns", len(row), len(csvColumns))
	}
	seq, err1 := strconv.ParseInt(row[2], 10, 64)
	at, err2 := time.Parse(time.RFC3339Nano, row[3])
	version, err3 := strconv.Atoi(row[9])
	if err := errors.Join(err1, err2, err3); err != nil {
		return e, err
	}
	return record.Event{
		ID: record.ID(row[0]), Device: row[1], Seq: seq, At: at, By: row[4], Site: record.ID(row[5]), Machine: record.ID(row[6]), Visit: record.ID(row[7]), Kind: record.Kind(row[8]),
		Version: version, Corrects: record.ID(row[10]), Body: json.RawMessage(row[11]),
	}, nil
}

// alike reports whether two events say the same; spaces in the body do not count.
func alike(a, b record.Event) bool {
	a.At, b.At = a.At.UTC(), b.At.UTC()
	x, err1 := json.Marshal(a)
	y, err2 := json.Marshal(b)
	return err1 == nil && err2 == nil && bytes.Equal(x, y)
}

// Import appends what a plan found new, all or none.
func (a *App) Import(ctx context.Context, act Act, p *ImportPlan) error {
	if len(p.New) == 0 {
		return nil
	}
	return a.append(ctx, act, p.New...)
}
