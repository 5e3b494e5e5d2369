package wire

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"coldwright/diagnose"
)

// endless is a table of n rows that are made as they are read. All but every so many name a refrigerant that nobody knows.
type endless struct {
	n, every, next int
	rest           []byte
	read           func(row int) // told before a row is made
}

func (e *endless) Read(p []byte) (int, error) {
	if len(e.rest) == 0 {
		if e.next > e.n {
			return 0, io.EOF
		}
		if e.next == 0 {
			e.rest = []byte(
				"case_id,refrigerant,application,receiver,box_air_c,ambient_c,suction_pressure_kpa,discharge_pressure_kpa,glass\n",
			)
		} else {
			if e.read != nil {
				e.read(e.next)
			}
			rng := rand.New(rand.NewPCG(3, uint64(e.next)))
			name := "R-9"
			if e.next%e.every == 0 {
				name = "R-404A"
			}
			e.rest = fmt.Appendf(
				nil,
				"%d,%s,walk-in freezer,yes,%.2f,%.2f,%.1f,%.0f,%s\n",
				e.next,
				name,
				-20+6*rng.Float64(),
				18+15*rng.Float64(),
				160+60*rng.Float64(),
				1300+500*rng.Float64(),
				[]string{"clear", "bubbling", ""}[rng.IntN(3)],
			)
		}
		e.next++
	}
	k := copy(p, e.rest)
	e.rest = e.rest[k:]
	return k, nil
}

// lines counts what is written and keeps nothing.
type lines int

func (n *lines) Write(p []byte) (int, error) {
	*n += lines(bytes.Count(p, []byte("\n")))
	return len(p), nil
}

// TestJudgeCases_Flat: memory does not grow with the number of rows, and rows are written in order while later ones are
// still to be read. Definition.
func TestJudgeCases_Flat(t *testing.T) {
	const n, every = 20_000, 200
	heap := map[int]uint64{}
	table := endless{n: n, every: every, read: func(row int) {
		if row == n/10 || row == n {
			var m runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&m)
			heap[row] = m.HeapAlloc
		}
	}}
	var out lines
	st, err := JudgeCases(context.Background(), &table, &out, fits(t), error.Error, diagnose.Options{NoPairs: true})
	if err != nil || st.Cases != n || st.Failed != n-n/every || int(out) != n+1 {
		t.Fatal(st, err, out)
	}
	// A name stays for each row, less than 100 bytes; a row of the answer alone, held back, would be 600 and its case
	// more. Judgements under way come and go: about 1 MB each.
	grown, most := int64(heap[n])-int64(heap[n/10]), int64(n-n/10)*100+3_000_000
	if t.Logf("grown by %d bytes", grown); grown > most {
		t.Errorf("the heap grew by %d bytes between row %d and row %d, more than %d", grown, n/10, n, most)
	}
}

// broken gives an error after so many bytes.
type broken struct{ io.Reader }

var errCut = errors.New("the line was cut")

func (b broken) Read(p []byte) (int, error) {
	n, err := b.Reader.Read(p)
	if errors.Is(err, io.EOF) {
		err = errCut
	}
	return n, err
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errCut }

// TestJudgeCases_Ends: whatever ends a table early is reported, and nothing hangs: reading that fails, writing that fails,
// a caller who gives up. Definition.
func TestJudgeCases_Ends(t *testing.T) {
	o := diagnose.Options{NoPairs: true}
	st, err := JudgeCases(context.Background(), broken{&endless{n: 5, every: 1}}, io.Discard, fits(t), error.Error, o)
	if !errors.Is(err, errCut) || st.Cases != 5 {
		t.Errorf("reading fails after 5 rows: %v after %d", err, st.Cases)
	}
	if _, err := JudgeCases(context.Background(), &endless{n: 60, every: 1}, full{}, fits(t), error.Error, o); !errors.Is(err, errCut) {
		t.Errorf("writing fails: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	table := endless{n: 1_000_000, every: 1, read: func(row int) {
		if row == 20 {
			stop()
		}
	}}
	if _, err := JudgeCases(ctx, &table, io.Discard, fits(t), error.Error, o); !errors.Is(err, context.Canceled) || table.next > 1000 {
		t.Errorf("given up at row 20: %v, read to %d", err, table.next)
	}
	// A healthy visit may stand anywhere, so such a table is held: the visit below its case is found.
	var out bytes.Buffer
	in := "case_id,refrigerant,application,healthy_case,box_air_c,ambient_c,suction_pressure_kpa,discharge_pressure_kpa\n" +
		"today,R-404A,walk-in freezer,before,-16.1,22.8,184.1,1501\nbefore,R-404A,walk-in freezer,,-17,24,190,1550\n"
	if st, err := JudgeCases(context.Background(), strings.NewReader(in), &out, fits(t), error.Error, o); err != nil || st.Cases != 2 ||
		st.Failed != 0 {
		t.Error(st, err, out.String())
	}
}

func TestJudgeCases_BadRowsNamed(t *testing.T) {
	var in strings.Builder
	in.WriteString(
		"case_id,refrigerant,application,receiver,box_air_c,ambient_c,suction_pressure_kpa,discharge_pressure_kpa,glass,amps_ratio\n",
	)
	in.WriteString("short,R-404A,walk-in freezer,yes,-16.1,22.8,184.1,1501,bubbling,\n")
	in.WriteString("unknown,R-9,walk-in freezer,yes,-16.1,22.8,184.1,1501,bubbling,\n")
	in.WriteString("unit,R-404A,walk-in freezer,yes,-16.1,22.8,12psig,1501,bubbling,\n")
	in.WriteString("sound,R-134a,walk-in cooler,yes,2.2,27,245,1050,clear,1.0\n")
	var out bytes.Buffer
	st, err := JudgeCases(context.Background(), strings.NewReader(in.String()), &out, fits(t), error.Error, diagnose.Options{NoPairs: true})
	if err != nil || st.Cases != 4 || st.Failed != 2 {
		t.Fatal(st, err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if rows[1][1] != "low_charge" || rows[2][11] == "" || !strings.Contains(rows[3][11], "line 4, column suction_pressure_kpa") ||
		rows[4][11] != "" {
		t.Errorf("%v", rows)
	}
}
