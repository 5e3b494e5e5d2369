package diagnose

import (
	"context"
	"encoding/csv"
	"io"
	"runtime"
	"strconv"
	"sync"

	"coldwright/fault"
	"coldwright/reading"
	"coldwright/refrigerant"
)

// TableStats counts what a table gave.
type TableStats struct{ Cases, Failed int }

// Table judges every row of a table of machines and writes one row each, in order. A row that cannot be judged has its reason in the column error and
// does not stop the others.
//
//   - in: CSV of [reading.ReadCases]; fits, which returns the fit of a designation (called from several goroutines)
//   - out: CSV with case_id, top1, p1, top2, p2, top3, p3, p_healthy, p_none_of_these, next_reading, lack_of_fit, error, m_<fault>…
//   - errors: the table cannot be read or written
//   - source: definition
//   - cost: as [Run] per row, on all cores
func Table(ctx context.Context, r io.Reader, w io.Writer, fits func(string) (*refrigerant.Fit, error), o Options) (TableStats, error) {
	cases, err := reading.ReadCases(r)
	if err != nil {
		return TableStats{}, err
	}
	rows := make([][]string, len(cases))
	jobs := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range jobs {
				rows[i] = tableRow(ctx, &cases[i], fits, o)
			}
		})
	}
	for i := range cases {
		jobs <- i
	}
	close(jobs)
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return TableStats{}, err
	}
	out := csv.NewWriter(w)
	head := []string{"case_id", "top1", "p1", "top2", "p2", "top3", "p3", "p_healthy", "p_none_of_these", "next_reading", "lack_of_fit", "error"}
	for _, c := range fault.Singles() {
		head = append(head, "m_"+c.String())
	}
	if err := out.Write(head); err != nil {
		return TableStats{}, err
	}
	st := TableStats{Cases: len(cases)}
	for _, row := range rows {
		if row[11] != "" {
			st.Failed++
		}
		if err := out.Write(row); err != nil {
			return st, err
		}
	}
	out.Flush()
	return st, out.Error()
}

func tableRow(ctx context.Context, c *reading.Case, fits func(string) (*refrigerant.Fit, error), o Options) []string {
	row := make([]string, 12+len(fault.Singles()))
	row[0] = c.ID
	bad := func(err error) []string { row[11] = err.Error(); return row }
	if c.Err != nil {
		return bad(c.Err)
	}
	f, err := fits(c.Sheet.Machine.Refrigerant)
	if err != nil {
		return bad(err)
	}
	p, err := Run(ctx, Evidence{c.Sheet, f}, o)
	if err != nil {
		return bad(err)
	}
	num := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for k := range min(3, len(p.Ranked)) {
		row[1+2*k], row[2+2*k] = p.Ranked[k].Name(), num(p.Ranked[k].Probability)
	}
	row[7], row[8] = num(p.PHealthy), num(p.PNone)
	if len(p.Next) > 0 {
		row[9] = p.Next[0].At
	}
	row[10] = num(p.LackOfFit)
	for i, s := range fault.Singles() {
		row[12+i] = num(p.Marginal(s))
	}
	return row
}
