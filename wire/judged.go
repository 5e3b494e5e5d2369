package wire

import (
	"cmp"
	"context"
	"encoding/csv"
	"errors"
	"io"
	"runtime"
	"strconv"
	"sync"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/refrigerant"
)

// JudgedStats counts what a table gave.
type JudgedStats struct{ Cases, Failed int }

// JudgeCases judges every row of a table of machines and writes one row each, in order. A row that cannot be judged
// has its reason in the column error and does not stop the others.
//
//   - in: CSV as [OpenCases] reads it; fits, which returns the fit of a designation, and say, which puts a failure in
//     words (both called from several goroutines)
//   - out: CSV with case_id, top1, p1, top2, p2, top3, p3, p_healthy, p_none_of_these, next_reading, lack_of_fit, error, m_<fault>…
//   - errors: the table cannot be read or written; what was judged before is written
//   - source: definition
//   - cost: as [diagnose.Run] per row, on all cores; rows are read, judged and written as they come, see [Cases] for what is held
func JudgeCases(
	ctx context.Context,
	r io.Reader,
	w io.Writer,
	fits func(string) (*refrigerant.Fit, error),
	say func(error) string,
	o diagnose.Options,
) (JudgedStats, error) {
	cases, err := OpenCases(r)
	if err != nil {
		return JudgedStats{}, err
	}
	out := csv.NewWriter(w)
	head := []string{
		"case_id",
		"top1",
		"p1",
		"top2",
		"p2",
		"top3",
		"p3",
		"p_healthy",
		"p_none_of_these",
		"next_reading",
		"lack_of_fit",
		"error",
	}
	for _, c := range fault.Singles() {
		head = append(head, "m_"+c.String())
	}
	if err := out.Write(head); err != nil {
		return JudgedStats{}, err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	// Rows are judged on all cores and written in order: the queue holds them as they were read.
	type job struct {
		c   Case
		row chan []string
	}
	cores := runtime.GOMAXPROCS(0)
	queue, work := make(chan job, 4*cores), make(chan job)
	var broken error // why reading ended; known once queue is closed
	var wg sync.WaitGroup
	wg.Go(func() {
		defer close(queue)
		defer close(work)
		for ctx.Err() == nil {
			c, err := cases.Next()
			if errors.Is(err, io.EOF) {
				return
			}
			if err != nil {
				broken = err
				return
			}
			j := job{c, make(chan []string, 1)}
			select {
			case queue <- j:
			case <-ctx.Done():
				return
			}
			work <- j
		}
	})
	for range cores {
		wg.Go(func() {
			for j := range work {
				j.row <- judgedRow(ctx, &j.c, fits, o, say)
			}
		})
	}
	var st JudgedStats
	for j := range queue {
		row := <-j.row
		if ctx.Err() != nil || err != nil {
			continue
		}
		st.Cases++
		if row[11] != "" {
			st.Failed++
		}
		if err = out.Write(row); err != nil {
			stop()
		}
	}
	wg.Wait()
	out.Flush()
	return st, cmp.Or(err, ctx.Err(), broken, out.Error())
}

func judgedRow(
	ctx context.Context, c *Case, fits func(string) (*refrigerant.Fit, error), o diagnose.Options, say func(error) string,
) []string {
	row := make([]string, 12+len(fault.Singles()))
	row[0] = c.ID
	bad := func(err error) []string { row[11] = say(err); return row }
	if c.Err != nil {
		return bad(c.Err)
	}
	f, err := fits(c.Sheet.Machine.Refrigerant)
	if err != nil {
		return bad(err)
	}
	p, err := diagnose.Run(ctx, diagnose.Evidence{Sheet: c.Sheet, Fit: f}, o)
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
