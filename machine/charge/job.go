package charge

import (
	"math"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/units"
)

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

// Described is a part as it is measured on site: by its inner volume, or by the outside size of a copper tube (or the
// inside diameter of another) with its length. Every value carries its unit; empty: not said.
type Described struct {
	Kind   string // one of [KindWords]
	Name   string
	Size   string
	Inside string
	Length string
	Volume string
}

// Part returns the part with its inner volume.
//
//   - in: a description
//   - out: the part
//   - errors: [*fail.Error] naming the field: kind, size, inside, length or volume
//   - source: ASTM B280 for what an outside size of tube holds
func (d Described) Part() (Part, error) {
	q := &units.Fields{}
	p := d.PartIn(q)
	return p, q.Err
}

// PartIn is [Described.Part] inside a document: a failure stands in q, at its place.
func (d Described) PartIn(q *units.Fields) Part {
	out := Part{Kind: units.Word[Kind](q, "kind", d.Kind, kindWords), Name: d.Name}
	if d.Kind == "" {
		q.Fail("kind", fail.Of(fail.Required, "", "charge.kind_missing", fail.Args{"kinds": KindWords()}))
	}
	bore := 0.0
	switch {
	case d.Volume != "" && (d.Size != "" || d.Inside != "" || d.Length != ""):
		q.Fail("volume", fail.Of(fail.BadData, "", "charge.size_twice", nil))
	case d.Volume != "":
		out.Volume = q.Opt("volume", d.Volume, units.ParseVolume)
	case d.Size != "" && d.Inside != "":
		q.Fail("size", fail.Of(fail.BadData, "", "charge.diameter_twice", nil))
	case d.Size != "":
		od := q.Opt("size", d.Size, units.ParseSize)
		t, ok := TubeOf(od)
		if !ok && q.Err == nil {
			q.Fail(
				"size",
				fail.Of(fail.BadValue, "", "charge.no_tube", fail.Args{"size": d.Size}),
			)
		}
		bore = t.Bore()
	case d.Inside != "":
		inside := q.Opt("inside", d.Inside, units.ParseSize)
		q.Within("inside", inside, 0.0005, 0.3, "m")
		bore = math.Pi / 4 * inside * inside
	default:
		q.Fail("volume", fail.Of(fail.Required, "", "charge.size_missing", nil))
	}
	if bore > 0 {
		length := q.Must("length", d.Length, fail.Of(fail.Required, "", "charge.length_missing", nil), units.ParseSize)
		q.Within("length", length, 0, 5000, "m")
		out.Volume = bore * length
	}
	q.Within("volume", out.Volume, 0, 20, "m³")
	return out
}
