package verdict

import (
	"encoding/json"
	"math"
)

type answerJSON struct {
	Fault string  `json:"fault"`
	P     float64 `json:"probability"`
	Level string  `json:"level"`
}

func (a Answer) view() *answerJSON {
	if a.Code == 0 {
		return nil
	}
	return &answerJSON{a.Code.String(), a.Probability, a.Level().String()}
}

type instrumentJSON struct {
	Fault string  `json:"fault"`
	At    string  `json:"at"`
	Rule  string  `json:"rule"`
	Off   float64 `json:"off"`
}

// MarshalJSON writes the verdict with stable keys.
func (j *Judgement) MarshalJSON() ([]byte, error) {
	type fitJSON struct {
		Status Status   `json:"status"`
		Rule   FitRule  `json:"rule"`
		Sigma  *float64 `json:"worst_sigma"` // null where there is none
	}
	type healthyJSON struct {
		Status Status      `json:"status"`
		Rule   HealthyRule `json:"rule"`
	}
	type stepJSON struct {
		Kind       StepKind `json:"kind"`
		Rule       StepRule `json:"rule"`
		At         string   `json:"at,omitempty"`
		Fault      string   `json:"fault,omitempty"`
		Instrument string   `json:"instrument,omitempty"`
	}
	out := struct {
		Kind        Kind             `json:"kind"`
		First       *answerJSON      `json:"first,omitempty"`
		Second      *answerJSON      `json:"second,omitempty"`
		Both        bool             `json:"both,omitempty"`
		Suspects    []*answerJSON    `json:"suspects"`
		Healthy     healthyJSON      `json:"healthy"`
		Instruments []instrumentJSON `json:"instruments_wrong"`
		Fit         fitJSON          `json:"fit"`
		Next        stepJSON         `json:"next_step"`
	}{
		Kind: j.Cause.Kind, First: j.Cause.First.view(), Second: j.Cause.Second.view(), Both: j.Cause.Both,
		Suspects: []*answerJSON{}, Healthy: healthyJSON{j.Healthy, j.HealthyRule}, Instruments: []instrumentJSON{},
		Fit:  fitJSON{j.Fit.Status, j.Fit.Rule, &j.Fit.Sigma},
		Next: stepJSON{Kind: j.Next.Kind, Rule: j.Next.Rule, At: j.Next.At()},
	}
	if math.IsNaN(j.Fit.Sigma) || math.IsInf(j.Fit.Sigma, 0) {
		out.Fit.Sigma = nil
	}
	for _, s := range j.Suspects {
		out.Suspects = append(out.Suspects, s.view())
	}
	for _, i := range j.Instruments {
		out.Instruments = append(out.Instruments, instrumentJSON{i.Fault.String(), i.At.String(), string(i.Rule), i.Off})
	}
	if c := j.Next.Cause; c != 0 {
		out.Next.Fault = c.String()
	}
	if c := j.Next.Instrument; c != 0 {
		out.Next.Instrument = c.String()
	}
	return json.Marshal(out)
}
