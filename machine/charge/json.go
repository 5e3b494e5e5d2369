package charge

import (
	"errors"
	"fmt"
	"math"

	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// The JSON form of a job. The machine is that of a readings sheet; values with a unit are text.
type (
	jsonJob struct {
		Machine   *reading.JSONMachine `json:"machine"`
		Nameplate string               `json:"nameplate"`
		At        *jsonAt              `json:"at"`
		Parts     []Described          `json:"parts"`
		Seal      string               `json:"receiver_seal"`
		Seen      *jsonSeen            `json:"seen"`
		InBefore  string               `json:"in_before"`
		InBeforeU string               `json:"in_before_u"`
		Log       []jsonWeighing       `json:"log"`
		Hoses     string               `json:"hoses"`
		Scale     *jsonScale           `json:"scale"`
		Cylinder  *jsonCylinder        `json:"cylinder"`
	}
	jsonAt struct {
		Box     string `json:"box"`
		Ambient string `json:"ambient"`
		Coldest string `json:"coldest"`
	}
	jsonSeen struct {
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
	}
)

// Described is a part as it is measured on site: by its inner volume, or by the outside size of a copper tube (or the
// inside diameter of another) with its length. Every value carries its unit; empty: not said.
type Described struct {
	Kind   string `json:"kind"` // one of [KindWords]
	Name   string `json:"name"`
	Size   string `json:"size"`
	Inside string `json:"inside"`
	Length string `json:"length"`
	Volume string `json:"volume"`
}

// Cylinder is one to be filled: recovered refrigerant goes into it.
type Cylinder struct{ WaterCapacity, Tare, Gross float64 }

// Job is everything a charge is reckoned from.
type Job struct {
	Machine  Machine // its Fit is set by the caller
	Assumed  []reading.Assumed
	Seen     Seen
	Before   *float64 // kg in the circuit before; nil where nobody knows
	BeforeU  float64
	Log      []Weighing
	Hoses    float64
	Scale    Scale
	Cylinder *Cylinder
}

// Parse reads a job strictly: unknown keys, missing units and impossible values are errors that name line, field,
// value and what is allowed.
//
//   - in: JSON; see the example of the command charge
//   - out: the job in SI; the coldest day is now where none is given
//   - errors: [*fail.Error]
//   - source: definition
func Parse(text []byte) (Job, error) {
	var j jsonJob
	if err := strictjson.Decode(text, &j); err != nil {
		return Job{}, err
	}
	job, err := j.job()
	if err != nil {
		return Job{}, strictjson.Locate(text, err)
	}
	return job, nil
}

func (j *jsonJob) job() (job Job, err error) {
	p := &units.Fields{}
	if j.Machine == nil {
		p.Fail(
			"machine",
			fail.Of(fail.Required, "", "charge.machine_missing", nil),
		)
		return job, p.Err
	}
	m, err := j.Machine.Machine()
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
		job.Machine.Parts = append(job.Machine.Parts, part.part(q))
		p.Take(q)
	}
	if job.Machine.Full == 0 && len(j.Parts) == 0 {
		p.Fail(
			"parts",
			fail.Of(fail.Required, "", "charge.nothing_known", nil),
		)
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
			Weighing{
				w.Cylinder,
				q.Must("before", w.Before, weight, units.MassValue),
				q.Must("now", w.Now, weight, units.MassValue),
				q.Opt("tare", w.Tare, units.MassValue),
			},
		)
		p.Take(q)
	}
	job.Hoses = p.Opt("hoses", j.Hoses, units.MassValue)
	if j.Scale != nil {
		q := p.Under("scale")
		job.Scale = Scale{q.Opt("step", j.Scale.Step, units.MassValue), q.Opt("accuracy", j.Scale.Accuracy, units.FractionValue)}
		p.Take(q)
	}
	if c := j.Cylinder; c != nil {
		q := p.Under("cylinder")
		job.Cylinder = &Cylinder{
			q.Must(
				"water_capacity",
				c.WaterCapacity,
				fail.Of(fail.Required, "", "charge.water_capacity_missing", nil),
				units.MassValue,
			),
			q.Must("tare", c.Tare, fail.Of(fail.Required, "", "charge.tare_missing", nil), units.MassValue),
			q.Opt("gross", c.Gross, units.MassValue),
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

// Part returns the part with its inner volume.
//
//   - in: a description
//   - out: the part
//   - errors: [*fail.Error] naming the field: kind, size, inside, length or volume
//   - source: ASTM B280 for what an outside size of tube holds
func (j Described) Part() (Part, error) {
	q := &units.Fields{}
	p := j.part(q)
	return p, q.Err
}

func (j *Described) part(q *units.Fields) Part {
	out := Part{Kind: units.Word[Kind](q, "kind", j.Kind, kindWords), Name: j.Name}
	if j.Kind == "" {
		q.Fail("kind", fail.Of(fail.Required, "", "charge.kind_missing", fail.Args{"kinds": KindWords()}))
	}
	bore := 0.0
	switch {
	case j.Volume != "" && (j.Size != "" || j.Inside != "" || j.Length != ""):
		q.Fail("volume", fail.Of(fail.BadData, "", "charge.size_twice", nil))
	case j.Volume != "":
		out.Volume = q.Opt("volume", j.Volume, units.ParseVolume)
	case j.Size != "" && j.Inside != "":
		q.Fail("size", fail.Of(fail.BadData, "", "charge.diameter_twice", nil))
	case j.Size != "":
		od := q.Opt("size", j.Size, units.ParseSize)
		t, ok := TubeOf(od)
		if !ok && q.Err == nil {
			q.Fail(
				"size",
				fail.Of(fail.BadValue, "", "charge.no_tube", fail.Args{"size": j.Size}),
			)
		}
		bore = t.Bore()
	case j.Inside != "":
		d := q.Opt("inside", j.Inside, units.ParseSize)
		q.Within("inside", d, 0.0005, 0.3, "m")
		bore = math.Pi / 4 * d * d
	default:
		q.Fail(
			"volume",
			fail.Of(fail.Required, "", "charge.size_missing", nil),
		)
	}
	if bore > 0 {
		length := q.Must("length", j.Length, fail.Of(fail.Required, "", "charge.length_missing", nil), units.ParseSize)
		q.Within("length", length, 0, 5000, "m")
		out.Volume = bore * length
	}
	q.Within("volume", out.Volume, 0, 20, "m³")
	return out
}

// Fill is what a cylinder may still take.
type Fill struct {
	Limit, StopAt float64    // kg: content, and gross reading at which to stop
	Room          float64    // kg; negative where it is overfilled; NaN never
	Full          units.Temp // where that limit fills it with liquid
	Findings      []reading.Finding
}

// Fill checks a cylinder.
//
//   - in: r; the cylinder; gross zero where it is not on the scale
//   - out: limit and room
//   - errors: as [CylinderLimit]
//   - source: [CylinderLimit]
func (c *Cylinder) Fill(r *refrigerant.Refrigerant) (Fill, error) {
	limit, full, err := CylinderLimit(r, c.WaterCapacity)
	if err != nil {
		return Fill{}, err
	}
	f := Fill{Limit: limit, StopAt: c.Tare + limit, Room: limit, Full: full}
	if c.Gross > 0 {
		f.Room = f.StopAt - c.Gross
		switch {
		case f.Room < 0:
			f.Findings = append(
				f.Findings,
				reading.Finding{Code: CylinderOver, Severity: reading.Block, Args: map[string]float64{"over_kg": -f.Room}},
			)
		case f.Room < 0.1*limit:
			f.Findings = append(
				f.Findings,
				reading.Finding{Code: CylinderNear, Severity: reading.Warn, Args: map[string]float64{"room_kg": f.Room}},
			)
		}
	}
	return f, nil
}
