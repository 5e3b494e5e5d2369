package pulldown

import (
	"cmp"
	"math"
	"slices"
)

// What a machine gives and a room needs, judgement, ours. A room's load is 16 to 18 hours a day of a sound machine
// (common practice, no source), one in ten rooms needs more. Of machines somebody times, most are sound; the others
// lost anything up to two thirds.
const (
	loadSlope   = 0.014 // per K: walls and doors, the air outside 45 K above a freezer and 30 K above a cooler
	soundShare  = 0.6
	soundSd     = 0.08
	soundAfter  = 0.85 // after work that was meant to cure it,
	soundCured  = 0.95 // where it falls faster than before it for certain
	soundOutrun = 0.1  // where it fell faster after the work, the machine before it was not sound
	roomShare   = 0.75
	roomSd      = 0.13
	overloaded  = 0.1
)

// CapacitySlope is how much more a machine of which nothing is read gives in each K above the set point: suction density
// at a fixed TD. Judgement, ours; of a machine whose readings are known the plant says it.
const CapacitySlope = 0.028

// A box found warm by a running machine stands about where that machine leaves it, and the door let the rest in: 2 to 6
// K. Judgement, ours: one in three of the boxes somebody times, fewer the farther from the set point, hardly any after a
// repair, most where the same box fell faster afterwards.
const (
	standsShare   = 0.25
	standsAfter   = 0.05
	standsOutrun  = 0.7
	standsUnder   = 3.0 // K under the first reading
	standsSd      = 2.5
	standsNoFarer = 12.0 // K above the set point
)

// balanceSd is what such a balance is good to, K. Judgement, ours: both slopes, and a load that is not the same each day.
const balanceSd = 1.5

// The balance is reckoned between these, K above the set point: what ends outside them falls, or does not, all the same.
const coldest, warmest = -20.0, 30.0

// Share is a load as a share of what a sound machine gives at the set point, and how probable it is.
type Share struct{ Weight, Value float64 }

// Machine is one thing the machine of a box may be today: how probable that is, what it gives at the set point as a
// share of what a sound one does, with its standard deviation, how much more it gives in each K above the set point, as
// a share of that, and the loads it may work against.
type Machine struct {
	Weight    float64
	Gives, Sd float64
	Grows     float64
	Loads     []Share
}

// eighths divide a normal into equal parts.
var eighths = []float64{-1.645, -0.935, -0.524, -0.164, 0.164, 0.524, 0.935, 1.645}

// Normal divides a normal distribution of loads into equal parts.
func Normal(mean, sd, weight float64) []Share {
	out := make([]Share, 0, len(eighths))
	for _, z := range eighths {
		out = append(out, Share{weight / float64(len(eighths)), mean + 1.02*sd*z})
	}
	return out
}

// AnyLoad is what a room needs of which nobody said anything.
func AnyLoad() []Share {
	return append(Normal(roomShare, roomSd, 1-overloaded), Normal(1.15, 0.12, overloaded)...)
}

// LoadsOf are the loads of a room whose share was measured with this standard uncertainty. Heavy tails: a room measured
// wrongly does not decide alone (Student's t of five degrees of freedom, as any other reading).
func LoadsOf(share, u float64) []Share {
	density := func(x, mean, sd float64) float64 { return math.Exp(-0.5*(x-mean)*(x-mean)/(sd*sd)) / sd }
	var out []Share
	for i := range 40 {
		q := 0.3 + 1.7*(float64(i)+0.5)/40
		z := (share - q) / u
		w := (1-overloaded)*density(q, roomShare, roomSd) + overloaded*density(q, 1.15, 0.12)
		out = append(out, Share{w / math.Pow(1+z*z/3, 3), q})
	}
	return out
}

// AnyMachine is what a machine gives of which nothing was read; sound is how probable it is that nothing is wrong.
func AnyMachine(sound float64, loads []Share) []Machine {
	out := []Machine{{sound, 1, soundSd, CapacitySlope, loads}}
	for _, v := range []float64{0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.95} {
		out = append(out, Machine{(1 - sound) / 7, v, 0, CapacitySlope, loads})
	}
	return out
}

// balance calls f with where the box would end, K above the set point, and how probable that is: where capacity
// r (1 + g x) equals load q (1 − u x).
//
//   - source: balance, linear in the box temperature; u is judgement, ours (section 9 of docs/physics.md)
func (m *Machine) balance(f func(above, weight float64)) {
	gives := []Share{{1, m.Gives}}
	if m.Sd > 0 {
		gives = Normal(m.Gives, m.Sd, 1)
	}
	all := 0.0
	for _, q := range m.Loads {
		all += q.Weight
	}
	for _, r := range gives {
		for _, q := range m.Loads {
			load, a := math.Max(q.Value, 0.2), math.Max(r.Value, 0.05)
			x := (load - a) / (a*math.Max(m.Grows, 0) + load*loadSlope)
			f(math.Max(coldest, math.Min(warmest, x)), r.Weight*q.Weight/all)
		}
	}
}

// believed is what is held of machine and load before the curve is read.
func (o *Options) believed() []Machine {
	if len(o.Machine) > 0 {
		return o.Machine
	}
	loads := o.Loads
	if len(loads) == 0 {
		loads = AnyLoad()
	}
	sound := soundShare
	switch {
	case o.outrun:
		sound = soundOutrun
	case len(o.Earlier) > 0:
		sound = soundAfter + (soundCured-soundAfter)*math.Max(0, 2*o.cured-1)
	}
	return AnyMachine(sound, loads)
}

// standing is how a box is found, K above the set point, and what that says of where its machine, running, ends.
type standing struct{ share, start, mean float64 }

func (o *Options) standing(start float64) standing {
	s := standing{share: standsShare, start: start}
	switch {
	case o.outrun:
		s.share = standsOutrun
	case len(o.Earlier) > 0:
		s.share = standsAfter
	}
	far := start / standsNoFarer
	s.share *= math.Exp(-0.5 * far * far)
	all := 0.0
	for _, m := range AnyMachine(soundShare, AnyLoad()) {
		m.balance(func(above, w float64) {
			s.mean += m.Weight * w * s.near(above)
			all += m.Weight * w
		})
	}
	s.mean = math.Max(s.mean/all, 1e-6)
	return s
}

func (s *standing) near(above float64) float64 {
	z := (above - (s.start - standsUnder)) / math.Hypot(standsSd, balanceSd)
	return math.Exp(-0.5 * z * z)
}

// likelier is how much likelier a box is found this warm where its machine ends at above.
func (s *standing) likelier(above float64) float64 { return 1 - s.share + s.share*s.near(above)/s.mean }

// ends is a part of what is believed of where the box would end: weight, mean and standard deviation, K.
type ends struct{ weight, mean, sd float64 }

// ends is where the box would end, running all the time, in parts of about equal weight, each a normal.
func (o *Options) ends(start float64) []ends {
	type node struct{ value, weight float64 }
	var x []node
	found := o.standing(start - float64(o.SetPoint))
	all := 0.0
	for _, m := range o.believed() {
		m.balance(func(above, w float64) {
			w *= m.Weight * found.likelier(above)
			x = append(x, node{above, w})
			all += w
		})
	}
	slices.SortFunc(x, func(a, b node) int { return cmp.Compare(a.value, b.value) })
	const parts = 5
	out := make([]ends, 0, parts)
	var sum, w, m, v float64
	for i, n := range x {
		n.weight /= all
		sum += n.weight
		w += n.weight
		m += n.weight * n.value
		v += n.weight * n.value * n.value
		if sum >= float64(len(out)+1)/parts-1e-9 || i == len(x)-1 {
			if w > 0 {
				m /= w
				out = append(out, ends{w, float64(o.SetPoint) + m, math.Sqrt(math.Max(v/w-m*m, 0) + balanceSd*balanceSd)})
			}
			w, m, v = 0, 0, 0
		}
	}
	return out
}
