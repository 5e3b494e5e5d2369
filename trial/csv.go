package trial

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/units"
)

// ReadPullDown reads a table with the columns minute (or time, RFC 3339) and box_c or box_f, optionally product_c or product_f.
//
//   - in: CSV with dot decimals; lines starting with # are remarks
//   - out: the points
//   - errors: [*fail.Error] naming line and column
//   - source: definition
func ReadPullDown(r io.Reader) ([]Point, error) {
	c := csv.NewReader(r)
	c.Comment, c.TrimLeadingSpace = '#', true
	head, err := c.Read()
	if err != nil {
		return nil, fail.New(fail.BadData, "line 1", "the table has no header row", "first row: minute,box_f")
	}
	col := map[string]int{}
	for i, h := range head {
		h = strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))
		switch h {
		case "minute", "time", "box_c", "box_f", "product_c", "product_f":
		default:
			return nil, fail.New(fail.BadData, fmt.Sprintf("line 1, column %d", i+1), fmt.Sprintf("no column %q", h), "columns: minute or time, box_c or box_f, product_c or product_f")
		}
		if _, twice := col[h]; twice {
			return nil, fail.New(fail.BadData, fmt.Sprintf("line 1, column %d", i+1), fmt.Sprintf("column %q is there twice", h), "")
		}
		col[h] = i
	}
	_, m := col["minute"]
	_, tm := col["time"]
	_, bc := col["box_c"]
	_, bf := col["box_f"]
	if m == tm || bc == bf {
		return nil, fail.New(fail.BadData, "line 1", "exactly one of minute and time, and one of box_c and box_f, is needed", "first row: minute,box_f")
	}
	var out []Point
	var first time.Time
	for {
		rec, err := c.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fail.New(fail.BadData, "table", err.Error(), "every row has as many cells as the header")
		}
		line, _ := c.FieldPos(0)
		number := func(name string) (float64, bool, error) {
			i, ok := col[name]
			if !ok || strings.TrimSpace(rec[i]) == "" {
				return 0, false, nil
			}
			v, err := strconv.ParseFloat(strings.TrimSpace(rec[i]), 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return 0, false, fail.New(fail.BadValue, fmt.Sprintf("line %d, column %s", line, name), fmt.Sprintf("%q is not a number", rec[i]), "dot decimal, no unit: the column names it")
			}
			return v, true, nil
		}
		var p Point
		if tm {
			t, err := time.Parse(time.RFC3339, strings.TrimSpace(rec[col["time"]]))
			if err != nil {
				return nil, fail.New(fail.BadValue, fmt.Sprintf("line %d, column time", line), fmt.Sprintf("%q is no time", rec[col["time"]]), "write 2026-06-01T08:30:00Z")
			}
			if first.IsZero() {
				first = t
			}
			p.Minute = t.Sub(first).Minutes()
		} else {
			v, ok, err := number("minute")
			if err != nil {
				return nil, err
			}
			if !ok {
				return nil, fail.New(fail.Required, fmt.Sprintf("line %d, column minute", line), "is empty", "")
			}
			p.Minute = v
		}
		temp := func(c, f string) (*units.Temp, error) {
			if v, ok, err := number(c); err != nil || ok {
				t := units.Celsius(v)
				return &t, err
			}
			if v, ok, err := number(f); err != nil || ok {
				t := units.Fahrenheit(v)
				return &t, err
			}
			return nil, nil
		}
		box, err := temp("box_c", "box_f")
		if err != nil {
			return nil, err
		}
		if box == nil {
			return nil, fail.New(fail.Required, fmt.Sprintf("line %d, box", line), "is empty", "leave the row out when the box was not read")
		}
		if !(*box > 180 && *box < 340) {
			return nil, fail.New(fail.Range, fmt.Sprintf("line %d, box", line), fmt.Sprintf("%.1f °F (%.1f °C) cannot be a box", box.F(), box.C()), "allowed: −135 to 150 °F (−93 to 66 °C)")
		}
		p.Box = *box
		if p.Product, err = temp("product_c", "product_f"); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
}

// MarshalJSON writes the answer with the stable keys of the contract.
func (p PullDown) MarshalJSON() ([]byte, error) {
	type band struct {
		Minute float64 `json:"minute"`
		Low    float64 `json:"low_c"`
		Mid    float64 `json:"mid_c"`
		High   float64 `json:"high_c"`
	}
	type interval struct {
		Low  float64 `json:"low"`
		Mid  float64 `json:"mid"`
		High float64 `json:"high"`
	}
	out := struct {
		Verdict  string    `json:"verdict"`
		Reason   string    `json:"reason,omitempty"`
		Points   int       `json:"points"`
		Span     float64   `json:"span_min"`
		LastC    float64   `json:"last_c"`
		Rate     float64   `json:"rate_k_per_h_last"`
		Forecast []band    `json:"forecast"`
		P        *float64  `json:"p_reaches_setpoint_6h"`
		To       *interval `json:"minutes_to_setpoint"`
	}{Verdict: p.Verdict.String(), Reason: p.Reason, Points: p.N, Span: p.Span, LastC: p.Last.C(), Rate: float64(p.RateLast), Forecast: []band{}}
	for _, b := range p.Forecast {
		out.Forecast = append(out.Forecast, band{b.Minute, b.Low.C(), b.Mid.C(), b.High.C()})
	}
	if len(p.Forecast) > 0 {
		out.P = &p.PReaches6h
	}
	if p.ToSetPoint != nil {
		out.To = &interval{p.ToSetPoint.Low, p.ToSetPoint.Mid, p.ToSetPoint.High}
	}
	return json.Marshal(out)
}
