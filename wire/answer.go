package wire

import (
	"encoding/json"
	"math"
	"time"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict"
)

// num64 is a number that JSON can hold: null for what is not finite.
type num64 float64

// MarshalJSON writes null for NaN and infinities.
func (v num64) MarshalJSON() ([]byte, error) {
	if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(v))
}

type jsonBand struct {
	Low  num64 `json:"low"`
	Mid  num64 `json:"mid"`
	High num64 `json:"high"`
}

// unitOf returns the key suffix and the conversion of a place's values.
func unitOf(at string) (suffix string, conv func(float64) float64) {
	if at == diagnose.RoomLoad {
		return "share", func(v float64) float64 { return v }
	}
	if at == diagnose.PullDown {
		return "c", func(v float64) float64 { return units.Temp(v).C() }
	}
	p, err := reading.ParsePlace(at)
	if err != nil {
		return "probability", func(v float64) float64 { return v }
	}
	switch p.Kind() {
	case reading.KindPressure:
		return "kpa", func(v float64) float64 { return v / units.Kilo }
	case reading.KindTemperature:
		return "c", func(v float64) float64 { return units.Temp(v).C() }
	case reading.KindCurrent:
		return "a", func(v float64) float64 { return v }
	case reading.KindShare:
		return "pct", func(v float64) float64 { return 100 * v }
	}
	return "w", func(v float64) float64 { return v }
}

func band(at string, b diagnose.Band) jsonBand {
	_, conv := unitOf(at)
	return jsonBand{num64(conv(b.Low)), num64(conv(b.Mid)), num64(conv(b.High))}
}

// predicted is a band that evidence is held against: null where the model says nothing. Of a thing seen the probability
// of what was seen is one number, the middle.
func predicted(e *diagnose.Item, b diagnose.Band) jsonBand {
	no := num64(math.NaN())
	switch {
	case !b.Known():
		return jsonBand{no, no, no}
	case e.Word != "":
		return jsonBand{no, num64(b.Mid), no}
	}
	return band(e.At, b)
}

// Answer is a judgement, with the verdict on it under the key "verdict".
func Answer(p *diagnose.Posterior, j *verdict.Judgement) any {
	type item struct {
		At              string   `json:"at"`
		Unit            string   `json:"unit"`
		Measured        any      `json:"measured"`
		IfHealthy       jsonBand `json:"expected_if_healthy"`
		IfThis          jsonBand `json:"expected_if_this"`
		AgainstHealthy  num64    `json:"nats_against_healthy"`
		AgainstRunnerUp num64    `json:"nats_against_runner_up"`
	}
	type severity struct {
		Fault string `json:"fault"`
		Low   num64  `json:"low"`
		Mid   num64  `json:"mid"`
		High  num64  `json:"high"`
		Unit  string `json:"unit"`
	}
	type ranked struct {
		Fault       string     `json:"fault"`
		Probability num64      `json:"probability"`
		Marginal    num64      `json:"marginal"`
		Severity    *severity  `json:"severity"`
		Severities  []severity `json:"severities,omitempty"`
		Evidence    []item     `json:"evidence"`
	}
	type show struct {
		Fault string   `json:"fault"`
		P     num64    `json:"probability"`
		Band  jsonBand `json:"band"`
	}
	type answer struct {
		Low   *num64 `json:"low,omitempty"`
		High  *num64 `json:"high,omitempty"`
		Word  string `json:"word,omitempty"`
		P     num64  `json:"probability"`
		First string `json:"then_first"`
		Sure  num64  `json:"then_probability"`
	}
	type next struct {
		At      string   `json:"at"`
		Bits    num64    `json:"bits"`
		Minutes num64    `json:"minutes"`
		Changes num64    `json:"p_changes_first"`
		Risk    string   `json:"risk,omitempty"`
		Why     string   `json:"why"`
		Unit    string   `json:"unit"`
		Shows   []show   `json:"would_show"`
		Answers []answer `json:"answers"`
	}
	type together struct {
		At      [2]string `json:"at"`
		Bits    num64     `json:"bits"`
		Minutes num64     `json:"minutes"`
	}
	type alsoCause struct {
		Fault string `json:"fault"`
		P     num64  `json:"probability"`
		At    string `json:"at,omitempty"`
		Bits  num64  `json:"bits"`
	}
	type advice struct {
		Code    string     `json:"code"`
		Sure    num64      `json:"p_first"`
		Changes num64      `json:"p_changes_first"`
		Prove   string     `json:"prove_instrument,omitempty"`
		Also    *alsoCause `json:"also,omitempty"`
	}
	type missing struct {
		Low     num64 `json:"low"`
		Mid     num64 `json:"mid"`
		High    num64 `json:"high"`
		Reserve num64 `json:"reserve"`
		P       num64 `json:"probability"`
	}
	type expected struct {
		At    string    `json:"at"`
		Unit  string    `json:"unit"`
		Band  jsonBand  `json:"band"`
		DewC  *jsonBand `json:"dew_c,omitempty"`
		Read  bool      `json:"read"`
		OffK  *num64    `json:"off_k,omitempty"`
		OffOf *num64    `json:"off_share,omitempty"` // of current and power
		In    *bool     `json:"in_band,omitempty"`
		Basis string    `json:"basis"`
	}
	type rule struct {
		At    string `json:"at"`
		TempC num64  `json:"saturation_c"`
		P     num64  `json:"pressure_kpa"`
		OffK  *num64 `json:"off_k"`
		Basis string `json:"basis"`
	}
	type quantity struct {
		Value num64  `json:"value"`
		U     num64  `json:"u"`
		End   string `json:"end,omitempty"`
	}
	out := struct {
		Ranked    []ranked            `json:"ranked"`
		Marginals map[string]num64    `json:"marginals"`
		PHealthy  num64               `json:"p_healthy"`
		PNone     num64               `json:"p_none_of_these"`
		LackOfFit num64               `json:"lack_of_fit"`
		Next      []next              `json:"next_readings"`
		Together  *together           `json:"next_pair,omitempty"`
		Advice    advice              `json:"advice"`
		Missing   *missing            `json:"missing_share,omitempty"`
		Derived   map[string]quantity `json:"derived"`
		Expected  []expected          `json:"expected_if_healthy"`
		Rule      []rule              `json:"rule_of_thumb"`
		Assumed   []reading.Assumed   `json:"assumed"`
		Warnings  []reading.Finding   `json:"warnings"`
		Seed      uint64              `json:"seed"`
		Verdict   any                 `json:"verdict"`
	}{
		Ranked:    []ranked{},
		Marginals: map[string]num64{},
		PHealthy:  num64(p.PHealthy),
		PNone:     num64(p.PNone),
		LackOfFit: num64(p.LackOfFit),
		Next:      []next{},
		Derived:   map[string]quantity{},
		Expected:  []expected{},
		Rule:      []rule{},
		Assumed:   p.Assumed,
		Warnings:  p.Warnings,
		Seed:      p.Seed,
		Verdict:   judgement(j),
	}
	if out.Assumed == nil {
		out.Assumed = []reading.Assumed{}
	}
	if out.Warnings == nil {
		out.Warnings = []reading.Finding{}
	}
	for _, h := range p.Ranked {
		r := ranked{Fault: h.Name(), Probability: num64(h.Probability), Marginal: num64(h.Marginal), Evidence: []item{}}
		var all []severity
		for _, s := range h.Severity {
			all = append(all, severity{s.Fault.String(), num64(s.Low), num64(s.Mid), num64(s.High), s.Unit})
		}
		if len(all) == 1 {
			r.Severity = &all[0]
		} else {
			r.Severities = all
		}
		for _, e := range h.Evidence {
			unit, conv := unitOf(e.At)
			it := item{
				At: e.At, Unit: unit, Measured: num64(conv(e.Measured)), IfHealthy: predicted(&e, e.IfHealthy), IfThis: predicted(&e, e.IfThis),
				AgainstHealthy: num64(e.NatsAgainstHealthy), AgainstRunnerUp: num64(e.NatsAgainstRunner),
			}
			if e.Word != "" {
				it.Measured = e.Word
			}
			r.Evidence = append(r.Evidence, it)
		}
		out.Ranked = append(out.Ranked, r)
	}
	for _, m := range p.Marginals {
		out.Marginals[m.Fault.String()] = num64(m.Probability)
	}
	for _, n := range p.Next {
		unit, _ := unitOf(n.At)
		if n.At == reading.DrierOut.String() {
			unit = "k" // the drop from inlet to outlet
		}
		j := next{
			At:      n.At,
			Bits:    num64(n.Bits),
			Minutes: num64(n.Minutes),
			Changes: num64(n.Changes),
			Risk:    n.Risk,
			Why:     n.Why,
			Unit:    unit,
			Answers: []answer{},
		}
		_, conv := unitOf(n.At)
		if unit == "k" {
			conv = func(v float64) float64 { return v }
		}
		for _, a := range n.Answers {
			x := answer{Word: a.Word, P: num64(a.Probability), First: a.First, Sure: num64(a.Sure)}
			if a.Word == "" {
				lo, hi := num64(conv(a.Low)), num64(conv(a.High))
				x.Low, x.High = &lo, &hi
			}
			j.Answers = append(j.Answers, x)
		}
		for _, s := range n.Shows {
			b := band(n.At, s.Band)
			if unit == "k" {
				b = jsonBand{num64(s.Band.Low), num64(s.Band.Mid), num64(s.Band.High)}
			}
			j.Shows = append(j.Shows, show{s.Name, num64(s.Probability), b})
		}
		out.Next = append(out.Next, j)
	}
	if t := p.Together; t != nil {
		out.Together = &together{[2]string{t.A, t.B}, num64(t.Bits), num64(t.Minutes)}
	}
	out.Advice = advice{Code: p.Advice.Code, Sure: num64(p.Advice.Sure), Changes: num64(p.Advice.Changes)}
	if c := p.Advice.Prove; c != 0 {
		out.Advice.Prove = c.String()
	}
	if a := p.Advice.Also; a != nil {
		out.Advice.Also = &alsoCause{a.Fault.String(), num64(a.Probability), a.At, num64(a.Bits)}
	}
	if m := p.Missing; m != nil {
		out.Missing = &missing{num64(m.Low), num64(m.Mid), num64(m.High), num64(m.Reserve), num64(m.Probability)}
	}
	for _, q := range p.Analysis.Derived {
		out.Derived[q.Key] = quantity{num64(q.Value), num64(q.U), q.End}
	}
	for _, e := range p.Analysis.Expected {
		r := rule{At: e.At.String(), TempC: num64(units.Temp(e.Temp).C()), P: num64(e.P / units.Kilo), Basis: e.Basis}
		if e.Read {
			off := num64(e.OffK)
			r.OffK = &off
		}
		out.Rule = append(out.Rule, r)
	}
	for _, e := range p.Expected {
		unit, _ := unitOf(e.At.String())
		x := expected{At: e.At.String(), Unit: unit, Band: band(e.At.String(), e.Band), Read: e.Read, Basis: e.Basis}
		if e.At.Kind() == reading.KindPressure {
			x.DewC = &jsonBand{num64(units.Temp(e.Dew.Low).C()), num64(units.Temp(e.Dew.Mid).C()), num64(units.Temp(e.Dew.High).C())}
		}
		if e.Read {
			off, in := num64(e.Off), e.In
			x.OffK, x.In = &off, &in
			if k := e.At.Kind(); k == reading.KindCurrent || k == reading.KindPower {
				x.OffK, x.OffOf = nil, &off
			}
		}
		out.Expected = append(out.Expected, x)
	}
	return out
}

type jsonAnswer struct {
	Fault string  `json:"fault"`
	P     float64 `json:"probability"`
	Level string  `json:"level"`
}

func answerOf(a verdict.Answer) *jsonAnswer {
	if a.Code == 0 {
		return nil
	}
	return &jsonAnswer{a.Code.String(), a.Probability, a.Level().String()}
}

type jsonInstrument struct {
	Fault string  `json:"fault"`
	At    string  `json:"at"`
	Rule  string  `json:"rule"`
	Off   float64 `json:"off"`
}

// judgement is the verdict.
func judgement(j *verdict.Judgement) any {
	type fitJSON struct {
		Status verdict.Status  `json:"status"`
		Rule   verdict.FitRule `json:"rule"`
		Sigma  *float64        `json:"worst_sigma"` // null where there is none
	}
	type healthyJSON struct {
		Status verdict.Status      `json:"status"`
		Rule   verdict.HealthyRule `json:"rule"`
	}
	type stepJSON struct {
		Kind       verdict.StepKind `json:"kind"`
		Rule       verdict.StepRule `json:"rule"`
		At         string           `json:"at,omitempty"`
		Fault      string           `json:"fault,omitempty"`
		Instrument string           `json:"instrument,omitempty"`
	}
	type leftJSON struct {
		At  string              `json:"at"`
		Why verdict.LeftOutRule `json:"why"`
	}
	type entryJSON struct {
		ID     string    `json:"id"`
		Device string    `json:"device"`
		Number int64     `json:"seq"`
		At     time.Time `json:"at"`
	}
	type taughtJSON struct {
		Machines int `json:"machines"`
		Here     int `json:"here"`
	}
	type onJSON struct {
		Sheet   string      `json:"sheet"`
		Used    []string    `json:"used"`
		LeftOut []leftJSON  `json:"left_out"`
		Reason  string      `json:"visit_reason,omitempty"`
		Taught  *taughtJSON `json:"learned,omitempty"`
		Entry   *entryJSON  `json:"entry,omitempty"` // of a recorded visit
	}
	out := struct {
		Kind        verdict.Kind     `json:"kind"`
		First       *jsonAnswer      `json:"first,omitempty"`
		Second      *jsonAnswer      `json:"second,omitempty"`
		Both        bool             `json:"both,omitempty"`
		Sights      []string         `json:"said_first,omitempty"`
		Suspects    []*jsonAnswer    `json:"suspects"`
		Healthy     healthyJSON      `json:"healthy"`
		Instruments []jsonInstrument `json:"instruments_wrong"`
		Fit         fitJSON          `json:"fit"`
		Misfit      any              `json:"misfit,omitempty"`
		LookAlike   []string         `json:"look_alike,omitempty"`
		Next        stepJSON         `json:"next_step"`
		On          onJSON           `json:"judged_on"`
	}{
		Kind: j.Cause.Kind, First: answerOf(j.Cause.First), Second: answerOf(j.Cause.Second), Both: j.Cause.Both,
		Suspects: []*jsonAnswer{}, Healthy: healthyJSON{j.Healthy, j.HealthyRule}, Instruments: []jsonInstrument{},
		Fit:  fitJSON{j.Fit.Status, j.Fit.Rule, &j.Fit.Sigma},
		Next: stepJSON{Kind: j.Next.Kind, Rule: j.Next.Rule, At: j.Next.At()},
		On:   onJSON{Sheet: j.On.Sheet, Used: append([]string{}, j.On.Used...), LeftOut: []leftJSON{}},
	}
	for _, l := range j.On.LeftOut {
		out.On.LeftOut = append(out.On.LeftOut, leftJSON(l))
	}
	out.On.Reason = j.On.Reason.String()
	if n := j.On.Taught; n.Machines > 0 {
		out.On.Taught = &taughtJSON{n.Machines, n.Here}
	}
	if e := j.On.Entry; e.ID != "" {
		out.On.Entry = &entryJSON{e.ID, e.Device, e.Number, e.At}
	}
	if math.IsNaN(j.Fit.Sigma) || math.IsInf(j.Fit.Sigma, 0) {
		out.Fit.Sigma = nil
	}
	if x := j.LookAlike; x != nil {
		out.LookAlike = []string{x.A.String(), x.B.String()}
	}
	if j.Misfit != nil {
		out.Misfit = misfit(j.Misfit)
	}
	for _, s := range j.Sights {
		out.Sights = append(out.Sights, s.Code)
	}
	for _, s := range j.Suspects {
		out.Suspects = append(out.Suspects, answerOf(s.Answer))
	}
	for _, i := range j.Instruments {
		out.Instruments = append(out.Instruments, jsonInstrument{i.Fault.String(), i.At.String(), string(i.Rule), i.Off})
	}
	if c := j.Next.Cause; c != 0 {
		out.Next.Fault = c.String()
	}
	if c := j.Next.Instrument; c != 0 {
		out.Next.Instrument = c.String()
	}
	return out
}
