package cli

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"strconv"
	"strings"

	"coldwright/fail"
)

// table streams rows of numbers through a function: CSV in, CSV or one JSON document per line out, in order and on
// all cores. It holds a few batches of rows whatever the length of the file. A row that cannot be answered says why
// in its last column and stops nobody.
type table struct {
	file  string
	rd    *csv.Reader
	head  []string
	take  []int  // columns of head that are numbers for the function
	taken []bool // by column of head
}

// openTable reads the header. Columns are separated by commas, decimals by dots, lines starting with # are remarks,
// as in every table of the house. Exactly need of the columns named in inputs must be there; any other column is
// repeated as it is.
func openTable(file string, r io.Reader, inputs []string, need int) (*table, error) {
	br := bufio.NewReader(r)
	if mark, err := br.Peek(len(byteOrderMark)); err == nil && string(mark) == byteOrderMark {
		_, _ = br.Discard(len(byteOrderMark)) // what was peeked is there
	}
	t := &table{file: file, rd: csv.NewReader(br)}
	t.rd.Comment, t.rd.TrimLeadingSpace, t.rd.ReuseRecord, t.rd.FieldsPerRecord = '#', true, true, -1
	rec, err := t.rd.Read()
	if known := new(fail.Error); errors.As(err, &known) {
		return nil, known.At(file)
	}
	if err != nil {
		return nil, fail.Of(fail.BadData, file+": line 1", "table.no_header_first", fail.Args{"first": strings.Join(inputs[:need], ",")})
	}
	t.head = make([]string, len(rec))
	t.taken = make([]bool, len(rec))
	for i, h := range rec {
		t.head[i] = strings.TrimSpace(h)
		for j := range i {
			if t.head[j] == t.head[i] {
				return nil, fail.Of(fail.BadData, fmt.Sprintf("%s: line 1, column %d", file, i+1), "table.twice",
					fail.Args{"column": t.head[i]})
			}
		}
	}
	// In the order of inputs, so that the function knows what it gets.
	for _, in := range inputs {
		for i, h := range t.head {
			if h == in {
				t.take, t.taken[i] = append(t.take, i), true
			}
		}
	}
	if len(t.take) != need {
		args := fail.Args{"columns": inputs, "there": len(t.take), "first": strings.Join(inputs[:need], ",")}
		if need == 2 {
			return nil, fail.Of(fail.BadData, file+": line 1", "table.two_of", args)
		}
		return nil, fail.Of(fail.BadData, file+": line 1", "table.one_of", args)
	}
	return t, nil
}

// inputs returns the columns the function gets, in its order.
func (t *table) inputs() []string {
	var out []string
	for _, i := range t.take {
		out = append(out, t.head[i])
	}
	return out
}

// answers is what a table adds to its rows.
type answers struct {
	json bool
	// columns are added to those of the table, the last one is the reason.
	columns []string
	// known are the members of a JSON document that do not depend on the row, unknown the keys that are null in a row without answer.
	known   string
	unknown []string
	// row appends its cells, each behind a comma and the reason left out, or its JSON document. It is called from several goroutines.
	row func(b []byte, v []float64) ([]byte, error)
}

const byteOrderMark = "\ufeff"

type batch struct {
	lines []int
	bad   []string // why a row cannot be read
	cells []string // len(head) for every row
	out   []byte
	fails int
	done  chan struct{}
}

const batchRows = 512

// run streams the rows and returns how many there were and how many have no answer.
func (t *table) run(w io.Writer, a answers) (rows, bad int, err error) {
	for i, h := range t.head {
		for _, c := range a.columns {
			if h == c {
				return 0, 0, fail.Of(fail.BadData, fmt.Sprintf("%s: line 1, column %d", t.file, i+1), "table.answer_column",
					fail.Args{"column": h})
			}
		}
	}
	if !a.json {
		var b []byte
		for _, h := range t.head {
			b = append(appendCell(b, h), ',')
		}
		if _, err := w.Write(append(b, strings.Join(a.columns, ",")+"\n"...)); err != nil {
			return 0, 0, err
		}
	}
	workers := runtime.GOMAXPROCS(0)
	free, jobs, order := make(chan *batch, 2*workers), make(chan *batch, 2*workers), make(chan *batch, 2*workers)
	for range cap(free) {
		free <- &batch{done: make(chan struct{}, 1)}
	}
	quit := make(chan struct{})
	defer close(quit)
	var readErr error
	go func() {
		defer close(order)
		defer close(jobs)
		for more := true; more; {
			var b *batch
			select {
			case b = <-free:
			case <-quit:
				return
			}
			if more, readErr = t.fill(b); len(b.lines) > 0 {
				jobs <- b
				order <- b
			}
		}
	}()
	for range workers {
		go func() {
			v := make([]float64, len(t.take))
			for b := range jobs {
				t.work(b, v, &a)
				b.done <- struct{}{}
			}
		}()
	}
	for b := range order {
		<-b.done
		rows, bad = rows+len(b.lines), bad+b.fails
		if _, err := w.Write(b.out); err != nil {
			return rows, bad, err
		}
		free <- b
	}
	if readErr != nil {
		return rows, bad, fail.Of(fail.BadData, t.file, "table.cut_off", fail.Args{"why": reason(readErr)})
	}
	return rows, bad, nil
}

// fill reads a batch and reports whether there may be more.
func (t *table) fill(b *batch) (more bool, err error) {
	b.lines, b.bad, b.cells = b.lines[:0], b.bad[:0], b.cells[:0]
	for range batchRows {
		rec, err := t.rd.Read()
		if errors.Is(err, io.EOF) {
			return false, nil
		}
		why, line := "", 0
		if err != nil {
			var pe *csv.ParseError
			if !errors.As(err, &pe) {
				return false, err
			}
			rec, line, why = nil, pe.Line, pe.Err.Error()
		} else if line, _ = t.rd.FieldPos(0); len(rec) > len(t.head) {
			rec, why = rec[:len(t.head)], fmt.Sprintf(
				"%d cells, the header has %d; cells are separated by commas, decimals by dots",
				len(rec),
				len(t.head),
			)
		}
		b.lines, b.bad, b.cells = append(b.lines, line), append(b.bad, why), append(b.cells, rec...)
		for range len(t.head) - len(rec) {
			b.cells = append(b.cells, "")
		}
	}
	return true, nil
}

// work answers a batch.
func (t *table) work(b *batch, v []float64, a *answers) {
	b.out, b.fails = b.out[:0], 0
	n := len(t.head)
	for i, line := range b.lines {
		cells := b.cells[i*n : (i+1)*n]
		why := b.bad[i]
		if why != "" {
			why = fmt.Sprintf("line %d: %s", line, why)
		}
		for k, c := range t.take {
			s := strings.TrimSpace(cells[c])
			x, err := strconv.ParseFloat(s, 64)
			if err == nil && !math.IsNaN(x) && !math.IsInf(x, 0) {
				v[k] = x
				continue
			}
			v[k] = math.NaN()
			if why == "" {
				why = fmt.Sprintf("line %d, column %s: %q is not a number; dot decimal, no unit", line, t.head[c], s)
				if s == "" {
					why = fmt.Sprintf("line %d, column %s: is empty", line, t.head[c])
				}
			}
		}
		start := len(b.out)
		if a.json {
			b.out = t.lead(b.out, cells)
		} else {
			for k, c := range cells {
				if k > 0 {
					b.out = append(b.out, ',')
				}
				b.out = appendCell(b.out, c)
			}
		}
		mark := len(b.out)
		if why == "" {
			out, err := a.row(b.out, v)
			if err == nil {
				b.out = out
				switch {
				case !a.json:
					b.out = append(b.out, ',')
				case mark > start: // the document's own brace gives way to what leads it
					b.out[mark] = ','
				}
				b.out = append(b.out, '\n')
				continue
			}
			where := fmt.Sprintf("line %d", line)
			if len(t.take) == 1 {
				where += ", column " + t.head[t.take[0]]
			}
			why = where + ": " + said(err)
		}
		b.fails++
		if a.json {
			b.out = t.failed(b.out, mark > start, v, why, a)
			continue
		}
		for range a.columns {
			b.out = append(b.out, ',')
		}
		b.out = append(appendCell(b.out, why), '\n')
	}
}

// lead opens a JSON document with the columns that are only repeated; it appends nothing when there are none.
func (t *table) lead(b []byte, cells []string) []byte {
	sep := byte('{')
	for i, c := range cells {
		if !t.taken[i] {
			b = appendText(append(appendText(append(b, sep), t.head[i]), ':'), c)
			sep = ','
		}
	}
	return b
}

// failed ends the JSON document of a row without answer: what was given, null for the rest, and the reason.
func (t *table) failed(b []byte, led bool, v []float64, why string, a *answers) []byte {
	sep := byte('{')
	if led {
		sep = ','
	}
	b = append(append(b, sep), a.known...)
	for k, c := range t.take {
		b = append(appendText(append(b, ','), t.head[c]), ':')
		if math.IsNaN(v[k]) {
			b = append(b, "null"...)
		} else {
			b = appendNumber(b, v[k])
		}
	}
	for _, c := range a.unknown {
		b = append(appendText(append(b, ','), c), ":null"...)
	}
	return append(appendText(append(b, `,"reason":`...), why), '}', '\n')
}

// appendCell appends a cell of CSV, in quotes where it needs them.
func appendCell(b []byte, s string) []byte {
	if !strings.ContainsAny(s, ",\"\r\n") && !strings.HasPrefix(s, "#") {
		return append(b, s...)
	}
	return append(append(append(b, '"'), strings.ReplaceAll(s, `"`, `""`)...), '"')
}

// appendText appends a JSON string.
func appendText(b []byte, s string) []byte {
	q, _ := json.Marshal(s) // a string cannot fail
	return append(b, q...)
}

// appendNumber appends the shortest decimal that reads back as v.
func appendNumber(b []byte, v float64) []byte { return strconv.AppendFloat(b, v, 'g', -1, 64) }

func outAlone() error {
	return fail.Of(fail.Usage, "--out", "usage.goes_with", fail.Args{"other": fail.Setting("table")})
}

// tableFile streams one table into another.
func tableFile(env *Env, file, out string, inputs []string, need int, with func(inputs []string) (answers, error)) (err error) {
	in, err := env.open(file)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	t, err := openTable(file, in, inputs, need)
	if err != nil {
		return err
	}
	a, err := with(t.inputs())
	if err != nil {
		return err
	}
	rows, bad := 0, 0
	err = env.writeFile(out, func(w io.Writer) error {
		rows, bad, err = t.run(w, a)
		return err
	})
	if err == nil && bad > 0 {
		fmt.Fprintf(env.Stderr, "coldwright: %s: %d of %d rows without answer; the reason stands with each\n", file, bad, rows)
	}
	return err
}

func appendJSON(b []byte, v any) ([]byte, error) {
	doc, err := json.Marshal(v)
	return append(b, doc...), err
}
