package wire

import (
	"errors"
	"fmt"
	"math"

	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/machine/charge"
	"coldwright/machine/reading"
	"coldwright/units"
)

// The JSON form of a job. The machine is that of a readings sheet; values with a unit are text.
type (
	jsonCharge struct {
		Machine   *jsonMachine    `json:"machine"`
		Nameplate string          `json:"nameplate"`
		At        *jsonOutside    `json:"at"`
		Parts     []jsonPart      `json:"parts"`
		Seal      string          `json:"receiver_seal"`
		Seen      *jsonChargeSeen `json:"seen"`
		InBefore  string          `json:"in_before"`
		InBeforeU string          `json:"in_before_u"`
		Log       []jsonWeighing  `json:"log"`
		Hoses     string          `json:"hoses"`
		Scale     *jsonScale      `json:"scale"`
		Cylinder  *jsonCylinder   `json:"cylinder"`
	}
	jsonOutside struct {
		Box     string `json:"box"`
		Ambient string `json:"ambient"`
		Coldest string `json:"coldest"`
	}
	jsonChargeSeen struct {
		Glass      string `json:"glass"`
		Subcooling string `json:"subcooling"`
		Target     string `json:"target_subcooling"`
		Level      string `json:"receiver_level"`
		Running    bool   `json:"running"`
		Suction    bool   `json:"into_suction"`
	}
	jsonWeighing struct {
		Cylinder string `json:"cylinder"`
		Before   string `json:"before"`
		Now      string `json:"now"`
		Tare     string `json:"tare"`
	}
	jsonScale struct {
		Step     string `json:"step"`
		Accuracy string `json:"accuracy"`
	}
	jsonCylinder struct {
		WaterCapacity string `json:"water_capacity"`
		Tare          string `json:"tare"`
		Gross         string `json:"gross"`
		Hottest       string `json:"hottest"`
		Service       string `json:"service_pressure"`
		Test          string `json:"test_pressure"`
	}
	// jsonPart has the fields of [charge.Described].
	jsonPart struct {
		Kind   string `json:"kind"`
		Name   string `json:"name"`
		Size   string `json:"size"`
		Inside string `json:"inside"`
		Length string `json:"length"`
		Volume string `json:"volume"`
	}
)

// ReadCharge reads a job of charging strictly: unknown keys, missing units and impossible values are errors that name
// line, field, value and what is allowed.
//
//   - in: JSON; see the example of the command charge
//   - out: the job in SI; the coldest day is now where none is given
//   - errors: [*fail.Error]
//   - source: definition
func ReadCharge(text []byte) (charge.Job, error) {
	var j jsonCharge
	if err := strictjson.Decode(text, &j); err != nil {
		return charge.Job{}, err
	}
	job, err := j.job()
	if err != nil {
		return charge.Job{}, strictjson.Locate(text, err)
	}
	return job, nil
}

func (j *jsonCharge) job() (job charge.Job, err error) {
	p := &units.Fields{}
	if j.Machine == nil {
		p.Fail("machine", fail.Of(fail.Required, "", "charge.machine_missing", nil))
		return job, p.Err
	}
	m, err := j.Machine.machine()
	if err != nil {
		var e *fail.Error
		if errors.As(err, &e) {
			err = e.At("machine")
		}
		return job, err
	}
	job.Machine.Plate, job.Assumed = m.Resolve()
	job.Machine.Full = p.Opt("nameplate", j.Nameplate, units.MassValue)
	if j.Nameplate != "" && job.Machine.Full <= 0 {
		p.Fail(
			"nameplate",
			fail.Of(fail.Range, "", "charge.nameplate", fail.Args{"text": j.Nameplate}),
		)
	}
	job.Machine.Seal = p.Opt("receiver_seal", j.Seal, units.FractionValue)
	if j.At == nil {
		p.Fail("at", fail.Of(fail.Required, "", "charge.now_missing", nil))
		return job, p.Err
	}
	q := p.Under("at")
	job.Seen.Now = units.Temp(q.Must("ambient", j.At.Ambient, fail.Of(fail.Required, "", "charge.ambient_missing", nil), units.TempValue))
	job.Seen.Box, job.Seen.Coldest = job.Machine.Plate.Box, job.Seen.Now
	if j.At.Box != "" {
		job.Seen.Box = units.Temp(q.Opt("box", j.At.Box, units.TempValue))
	}
	if j.At.Coldest != "" {
		job.Seen.Coldest = units.Temp(q.Opt("coldest", j.At.Coldest, units.TempValue))
	} else {
		job.Assumed = append(
			job.Assumed,
			reading.Assumed{
				Field: "at.coldest",
				Value: job.Seen.Now.C(),
				Unit:  "C",
				Why:   "no coldest day is given, so winter is not reckoned",
			},
		)
	}
	for _, t := range []struct {
		field  string
		v      units.Temp
		lo, hi float64
	}{{"ambient", job.Seen.Now, -50, 60}, {"coldest", job.Seen.Coldest, -50, 60}, {"box", job.Seen.Box, -60, 40}} {
		q.Within(t.field, math.Round(t.v.C()*10)/10, t.lo, t.hi, "°C")
	}
	p.Take(q)
	for i, part := range j.Parts {
		q := p.Under(fmt.Sprintf("parts[%d]", i))
		job.Machine.Parts = append(job.Machine.Parts, charge.Described(part).PartIn(q))
		p.Take(q)
	}
	if job.Machine.Full == 0 && len(j.Parts) == 0 {
		p.Fail("parts", fail.Of(fail.Required, "", "charge.nothing_known", nil))
	}
	if s := j.Seen; s != nil {
		q := p.Under("seen")
		job.Seen.Glass = units.Word[reading.Glass](q, "glass", s.Glass, []string{"", "clear", "bubbling", "empty"})
		ptr := func(field, text string, read func(string, string) (float64, error), lo, hi float64, unit string) *float64 {
			if text == "" {
				return nil
			}
			v := q.Opt(field, text, read)
			q.Within(field, v, lo, hi, unit)
			return &v
		}
		job.Seen.Subcooling = ptr("subcooling", s.Subcooling, units.DiffValue, -20, 60, " K")
		job.Seen.TargetSubcooling = ptr("target_subcooling", s.Target, units.DiffValue, 0.5, 30, " K")
		job.Seen.ReceiverLevel = ptr("receiver_level", s.Level, units.FractionValue, 0, 1, "")
		job.Seen.Running, job.Seen.IntoSuction = s.Running, s.Suction
		p.Take(q)
	}
	if j.InBefore != "" {
		v := p.Opt("in_before", j.InBefore, units.MassValue)
		job.Before, job.BeforeU = &v, p.Opt("in_before_u", j.InBeforeU, units.MassValue)
	}
	for i, w := range j.Log {
		q := p.Under(fmt.Sprintf("log[%d]", i))
		weight := fail.Of(fail.Required, "", "charge.gross_missing", nil)
		job.Log = append(
			job.Log,
			charge.Weighing{
				Cylinder: w.Cylinder,
				Before:   q.Must("before", w.Before, weight, units.MassValue),
				Now:      q.Must("now", w.Now, weight, units.MassValue),
				Tare:     q.Opt("tare", w.Tare, units.MassValue),
			},
		)
		p.Take(q)
	}
	job.Hoses = p.Opt("hoses", j.Hoses, units.MassValue)
	if j.Scale != nil {
		q := p.Under("scale")
		job.Scale = charge.Scale{
			Step:     q.Opt("step", j.Scale.Step, units.MassValue),
			Relative: q.Opt("accuracy", j.Scale.Accuracy, units.FractionValue),
		}
		p.Take(q)
	}
	if c := j.Cylinder; c != nil {
		q := p.Under("cylinder")
		job.Cylinder = &charge.Cylinder{
			WaterCapacity: q.Must(
				"water_capacity",
				c.WaterCapacity,
				fail.Of(fail.Required, "", "charge.water_capacity_missing", nil),
				units.MassValue,
			),
			Tare:  q.Must("tare", c.Tare, fail.Of(fail.Required, "", "charge.tare_missing", nil), units.MassValue),
			Gross: q.Opt("gross", c.Gross, units.MassValue),

			Hottest: units.Temp(q.Opt("hottest", c.Hottest, units.TempValue)),
			Service: q.Opt("service_pressure", c.Service, units.ParseStamped),
			Test:    q.Opt("test_pressure", c.Test, units.ParseStamped),
		}
		if cy := job.Cylinder; q.Err == nil && cy.Gross > 0 && cy.Gross < 0.98*cy.Tare {
			q.Fail(
				"gross",
				fail.Of(fail.Range, "", "charge.gross_below_tare", fail.Args{"gross": c.Gross, "tare": c.Tare}),
			)
		}
		p.Take(q)
	}
	return job, p.Err
}
