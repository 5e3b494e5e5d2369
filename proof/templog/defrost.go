package templog

import (
	"math"
	"slices"
)

type hump struct {
	start, end int64
	rise       float64
	defrost    bool
}

// defrost follows the usual temperature and marks short humps above it.
func (j *judge) defrost(t int64, v, dt float64) {
	const memory, longest = 4 * 3600.0, 2 * 3600
	dev := v - j.base
	high := math.Max(1, 4*j.spread)
	if dt > j.gap {
		j.inHump = false
	}
	if !j.inHump && dev > high {
		j.inHump = true
		start := j.quiet
		if start == 0 || float64(t-start) > math.Max(1800, 2*j.step) {
			start = t
		}
		j.h = hump{start: start}
	}
	if j.inHump {
		j.h.rise = math.Max(j.h.rise, dev)
		j.h.end = t
		long := t-j.h.start > longest
		if dev < 0.5*math.Min(high, j.h.rise) || long {
			j.inHump = false
			if !long && t-j.h.start >= 180 && len(j.humps) < maxHumps {
				j.humps = append(j.humps, j.h)
			}
			if long { // no hump: the place has become warmer
				j.base = v
			}
			dev = v - j.base
		}
	}
	switch {
	case dev > -high:
		j.cold = t
	case t-j.cold > 3600: // and colder again
		j.base = v
	}
	if !j.inHump {
		if math.Abs(dev) < 0.5*high {
			j.quiet = t
		}
		a := 1 - math.Exp(-math.Min(dt, memory)/memory)
		d := v - j.base
		j.base += a * math.Max(-high, math.Min(high, d))
		j.spread += a * (math.Min(math.Abs(d), high) - j.spread)
	}
}

// period finds the time from one defrost to the next: humps that fall into one narrow window of a period and fill at
// least half of its turns.
func period(humps []hump, step float64) (every float64, member []bool) {
	if len(humps) < 3 {
		return 0, nil
	}
	span := float64(humps[len(humps)-1].start - humps[0].start)
	var gaps []float64
	for i := 1; i < len(humps); i++ {
		gaps = append(gaps, float64(humps[i].start-humps[i-1].start))
	}
	sorted := slices.Clone(gaps)
	slices.Sort(sorted)
	median := sorted[len(sorted)/2]
	best := 0
	try := func(p float64) {
		if p < 3600 || p > span {
			return
		}
		w := math.Max(2*step, math.Min(1200, 0.1*p))
		phase := make([]float64, len(humps))
		for i, h := range humps {
			phase[i] = math.Mod(float64(h.start-humps[0].start), p)
		}
		order := slices.Clone(phase)
		slices.Sort(order)
		count, from := 0, 0.0
		for i, a := range order {
			n := 0
			for k := range order {
				if x := order[(i+k)%len(order)] - a; x >= 0 && x <= w || x < 0 && x+p <= w {
					n++
				} else {
					break
				}
			}
			if n > count {
				count, from = n, a
			}
		}
		turns := math.Floor(span/p+0.5) + 1
		// Half of the turns at least, and many more than chance would put there.
		if chance := float64(len(humps)) * w / p; count < 3 || float64(count) < 0.5*turns || float64(count) < 2*chance+2 || count <= best {
			return
		}
		best, every = count, p
		member = make([]bool, len(humps))
		for i := range phase {
			x := math.Mod(phase[i]-from+p, p)
			member[i] = x <= w
		}
	}
	for _, k := range []float64{1, 2, 3, 4, 6, 8, 12} {
		try(86400 / k)
	}
	try(median)
	if best == 0 && len(humps) >= 4 { // no clock, but equal times apart: a timer that counts running hours
		near := 0
		for _, g := range gaps {
			if math.Abs(g/median-1) < 0.15 {
				near++
			}
		}
		if 10*near >= 7*len(gaps) && median >= 3600 {
			every, member = median, make([]bool, len(humps))
			for i := range member {
				member[i] = true
			}
		}
	}
	return every, member
}
