package wire

import (
	"cmp"
	"io"
	"slices"

	"coldwright/fail"
	"coldwright/internal/table"
	"coldwright/proof/pulldown"
	"coldwright/units"
	"coldwright/verdict"
)

// ReadPullDown reads a table with the columns minute (or time, RFC 3339 or the time of day), and box_c or box_f,
// optionally product_c or product_f.
//
//   - in: CSV with dot decimals; lines starting with # are remarks
//   - out: the points
//   - errors: [*fail.Error] naming line and column
//   - source: definition
func ReadPullDown(r io.Reader) ([]pulldown.Point, error) {
	columns := []string{"minute", "time", "box_c", "box_f", "product_c", "product_f"}
	t, err := table.Open(
		r,
		func(h string) bool { return slices.Contains(columns, h) },
		"minute or time, box_c or box_f, product_c or product_f",
	)
	if err != nil {
		return nil, err
	}
	if err := cmp.Or(t.OneOf("minute", "time"), t.OneOf("box_c", "box_f")); err != nil {
		return nil, err
	}
	temp := func(c, f string) (*units.Temp, error) {
		if v, ok, err := t.Number(c); err != nil || ok {
			t := units.Celsius(v)
			return &t, err
		}
		if v, ok, err := t.Number(f); err != nil || ok {
			t := units.Fahrenheit(v)
			return &t, err
		}
		return nil, nil
	}
	var out []pulldown.Point
	for {
		more, err := t.Next(len(out))
		if err != nil {
			return nil, err
		}
		if !more {
			return out, nil
		}
		var p pulldown.Point
		if p.Minute, err = t.Minute(); err != nil {
			return nil, err
		}
		box, err := temp("box_c", "box_f")
		if err != nil {
			return nil, err
		}
		if box == nil {
			return nil, fail.Of(fail.Required, t.Place("box"), "test.empty_box", nil)
		}
		if !(*box > 180 && *box < 340) {
			return nil, fail.Of(fail.Range, t.Place("box"), "pulldown.box", fail.Args{"box": box})
		}
		p.Box = *box
		if p.Product, err = temp("product_c", "product_f"); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
}

// PullDown is the answer of a pull-down; coming is nil where no readings of the machine say anything.
func PullDown(p pulldown.Result, coming *verdict.Coming) any {
	type band struct {
		Minute float64 `json:"minute"`
		Low    float64 `json:"low_c"`
		Mid    float64 `json:"mid_c"`
		High   float64 `json:"high_c"`
		There  float64 `json:"p_there"`
	}
	type interval struct {
		Low  float64 `json:"low"`
		Mid  float64 `json:"mid"`
		High float64 `json:"high"`
	}
	type against struct {
		interval
		PFaster float64 `json:"p_faster"`
		FromC   float64 `json:"from_c"`
		ToC     float64 `json:"to_c"`
	}
	type ready struct {
		Readings int      `json:"readings_in_band"`
		SetC     float64  `json:"setpoint_c"`
		Minutes  interval `json:"minutes"`
		Late     bool     `json:"latest_unknown"`
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
		Decides  *float64  `json:"decides_at_min"`
		Against  *against  `json:"times_as_fast"`
		Coming   *ready    `json:"cold_in"`
	}{
		Verdict: p.Verdict.String(), Reason: p.Reason, Points: p.N, Span: p.Span, LastC: p.Last.C(), Rate: float64(p.RateLast),
		Forecast: []band{},
	}
	for _, b := range p.Forecast {
		out.Forecast = append(out.Forecast, band{b.Minute, b.Low.C(), b.Mid.C(), b.High.C(), b.There})
	}
	if len(p.Forecast) > 0 {
		out.P = &p.PReaches6h
	}
	if p.ToSetPoint != nil {
		out.To = &interval{p.ToSetPoint.Low, p.ToSetPoint.Mid, p.ToSetPoint.High}
	}
	if p.DecidesAt > 0 {
		out.Decides = &p.DecidesAt
	}
	if c := coming; c != nil {
		out.Coming = &ready{c.Readings, c.SetPoint.C(), interval{c.Minutes.Low, c.Minutes.Mid, c.Minutes.High}, c.Late}
	}
	if c := p.Against; c != nil {
		out.Against = &against{interval{c.Faster.Low, c.Faster.Mid, c.Faster.High}, c.PFaster, c.From.C(), c.To.C()}
	}
	return out
}
