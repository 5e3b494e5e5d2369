package pulldown

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"

	"coldwright/units"
)

// astray is how often a curve is not of its machine alone: a door ajar, warm goods just in, a control that stood off.
// Judgement, ours: then it says nothing of where the machine would take the box.
const astray = 0.05

// Message is what a curve says of where its box would end, with nothing in it of what else is known of the machine: the
// bodies of the box are summed over. It is weighed against the circuit's readings, and by the same numbers the circuit's
// readings go into the forecast, so that each counts once.
type Message struct {
	SetPoint units.Temp
	Start    units.Temp // first reading
	log      []float64  // log likelihood every step from coldest on, the largest over all 0
	blank    float64    // the same of a curve gone astray
	found    standing
}

// messageStep is how finely it is reckoned, K: less than what a balance is good to.
const messageStep = 1

// Says is what a pull-down says of where its box would end; nil where it says nothing: too few readings, or a box that
// its control holds. What is read after the set point was reached is the control's doing and left out.
//
//   - in: points as of [Judge], and its options; Machine and Loads are not looked at
//   - out: likelihood by the end, up to a factor
//   - errors: as of [Judge]
//   - assumes: as [Judge]; one curve in twenty is not of its machine alone
//   - source: doc.go of this package
//   - cost: about 30 ms
func Says(points []Point, o Options) (*Message, error) {
	pts, err := inOrder(points)
	if err != nil {
		return nil, err
	}
	o.Machine, o.Loads = nil, nil
	for i, p := range pts {
		if p.Box <= o.SetPoint+units.Temp(0.5*units.Fahr) {
			pts = pts[:i+1]
			break
		}
	}
	if len(pts) < 3 || pts[len(pts)-1].Minute < 10 {
		return nil, nil
	}
	if len(o.Later) > 0 {
		if later, err := inOrder(o.Later); err == nil {
			c := compare(pts, later, &o)
			o.outrun = c != nil && c.Faster.Low > 1
		}
	}
	return o.says(pts), nil
}

// says does it for points in order.
func (o *Options) says(pts []Point) *Message {
	start := float64(pts[0].Box)
	set := float64(o.SetPoint)
	log := byEnd(sumsOf(looks(pts, scatter(pts, float64(o.Noise))), start), set-start, pts[0].Product, start)
	out := &Message{SetPoint: o.SetPoint, Start: pts[0].Box, log: log, found: o.standing(start - set)}
	// What a curve gone astray is held to show: what any curve does, whatever the machine.
	mean, all := 0.0, 0.0
	for _, m := range AnyMachine(soundShare, AnyLoad()) {
		m.balance(func(above, w float64) {
			mean += m.Weight * w * math.Exp(out.at(above))
			all += m.Weight * w
		})
	}
	out.blank = math.Log(math.Max(mean/all, 1e-300))
	return out
}

// at is the log likelihood of an end, the curve being of its machine.
func (m *Message) at(above float64) float64 {
	x := math.Max(0, math.Min(float64(len(m.log)-1), (above-coldest)/messageStep))
	i := min(int(x), len(m.log)-2)
	return m.log[i] + (x-float64(i))*(m.log[i+1]-m.log[i])
}

// weight is the likelihood of an end, K above the set point, with how such a box is found and with curves gone astray.
func (m *Message) weight(above float64) float64 {
	return m.found.likelier(above) * ((1-astray)*math.Exp(m.at(above)) + astray*math.Exp(m.blank))
}

// endsBeside is what is believed of where the box would end, for the forecast: where it comes from the circuit's readings
// a curve that may have gone astray moves it by no more than it moves the causes.
func (o *Options) endsBeside(pts []Point) []ends {
	start := float64(pts[0].Box)
	out := o.ends(start)
	if len(o.Machine) == 0 {
		return out
	}
	m := o.says(pts)
	for i := range out {
		e := &out[i]
		e.weight *= 1 - astray + astray*math.Exp(m.blank-m.at(e.mean-float64(o.SetPoint)))
	}
	return out
}

// Sum is the same for the same message, and for another hardly ever.
func (m *Message) Sum() string {
	h := sha256.New()
	fmt.Fprintln(h, m.SetPoint, m.Start, m.blank, m.log)
	return hex.EncodeToString(h.Sum(nil))
}

// Of is the log likelihood of a machine: the mean over where it may take the box. Up to a factor that is the same of
// every machine.
func (m *Message) Of(k Machine) float64 {
	sum := 0.0
	k.balance(func(above, w float64) { sum += w * m.weight(above) })
	return math.Log(math.Max(sum, 1e-300))
}

// Likeliest is the end the curve by itself speaks for most.
func (m *Message) Likeliest() units.Temp {
	best := 0
	for i, l := range m.log {
		if l > m.log[best] {
			best = i
		}
	}
	return m.SetPoint + units.Temp(coldest+messageStep*float64(best))
}

// End is where machines would take the box, 5, 50 and 95 %, before this curve.
func (m *Message) End(of []Machine) (out [3]units.Temp) {
	type node struct{ value, weight float64 }
	var all []node
	sum := 0.0
	for _, k := range of {
		k.balance(func(above, w float64) {
			all = append(all, node{above, k.Weight * w})
			sum += k.Weight * w
		})
	}
	slices.SortFunc(all, func(a, b node) int { return cmp.Compare(a.value, b.value) })
	s, j := 0.0, 0
	for _, n := range all {
		s += n.weight / sum
		for ; j < 3 && s >= [3]float64{0.05, 0.5, 0.95}[j]-1e-12; j++ {
			out[j] = m.SetPoint + units.Temp(n.value)
		}
	}
	return out
}
