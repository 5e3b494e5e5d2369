package figure

import (
	"math"
	"slices"

	"coldwright/machine/circuit"
	"coldwright/refrigerant"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// isothermLabels stand where isotherms leave the window: above it, and at its foot.
func (p PHData) isothermLabels(c plane, b *labelSpace) []plot.Item {
	var out []plot.Item
	crossing := func(points []refrigerant.ChartPoint, y float64) (float64, bool) {
		for i := 1; i < len(points); i++ {
			a, q := c.at(points[i-1].H, points[i-1].P), c.at(points[i].H, points[i].P)
			if (a[1]-y)*(q[1]-y) <= 0 && a[1] != q[1] {
				return a[0] + (y-a[1])/(q[1]-a[1])*(q[0]-a[0]), true
			}
		}
		return 0, false
	}
	unit := TempUnit(p.Display)
	edge, free := c.l+9, c.r-plot.Width(unit, 14.5, false)-6
	last := edge
	foot := c.l
	for _, iso := range p.Chart.Isotherms {
		words := p.Display.TempNumber(units.Temp(iso.Value), 0)
		half := plot.Width(words, 14.5, false) / 2
		if x, ok := crossing(iso.Points, c.t+0.01); ok && x-half > edge && x+half < free {
			out = append(
				out,
				plot.Line{X1: x, Y1: c.t - 5, X2: x, Y2: c.t, Style: plot.Style{Class: "g-rule", Width: 1.2}},
				plot.Text{X: x, Y: c.t - 10, S: words, Class: "x-s x-c f-ink2"},
			)
			edge, last = x+half+9, x+half
		}
		if x, ok := crossing(iso.Points[max(0, iso.Dew):], c.b-1); ok && x-half > foot+10 && x+half < c.r-2 {
			out = append(
				out,
				plot.Rect{X: x - half - 1, Y: c.b - 17, W: 2*half + 2, H: 14, Style: plot.Style{Class: "f-sheet"}},
				plot.Text{X: x, Y: c.b - 5, S: words, Class: "x-s x-c f-ink2"},
			)
			foot = x + half
			b.boxes = append(b.boxes, [4]float64{x - half, c.b - 18, x + half, c.b - 2})
		}
	}
	if last > c.l+6 {
		out = append(out, plot.Text{X: last + 6, Y: c.t - 10, S: unit, Class: "x-s f-ink2"})
	}
	return out
}

// labelSpace knows what is taken, so that words find a free place.
type labelSpace struct {
	c         plane
	boxes     [][4]float64
	dots      [][2]float64
	cycle     [][2]float64 // along the cycle and the leaders
	coverable [][2]float64 // along what may be covered if it must
}

// sampled is a point every few units of a line.
func sampled(xy [][2]float64) [][2]float64 {
	var out [][2]float64
	for i := 1; i < len(xy); i++ {
		n := math.Max(1, math.Ceil(math.Hypot(xy[i][0]-xy[i-1][0], xy[i][1]-xy[i-1][1])/4))
		for k := 0.0; k <= n; k++ {
			out = append(out, [2]float64{xy[i-1][0] + k/n*(xy[i][0]-xy[i-1][0]), xy[i-1][1] + k/n*(xy[i][1]-xy[i-1][1])})
		}
	}
	return out
}

// nearestInBox is the point of a box nearest to q.
func nearestInBox(q [2]float64, x, y, w, h float64) [2]float64 {
	return [2]float64{math.Max(x, math.Min(x+w, q[0])), math.Max(y, math.Min(y+h, q[1]))}
}

// place finds the left upper corner of a box w × h near a point: nothing under it that is written or drawn thick, not
// far, and on the side it belongs to.
func (b *labelSpace) place(q, side [2]float64, w, h float64) (x, y, least float64) {
	least = math.Inf(1)
	for _, r := range []float64{9, 16, 26, 38, 54, 74, 98, 125} {
		for k := range 24 {
			dx, dy := math.Cos(float64(k)*math.Pi/12), math.Sin(float64(k)*math.Pi/12)
			// The box touches the circle of radius r from outside.
			x0 := math.Max(b.c.l+3, math.Min(b.c.r-w, q[0]+dx*(r+w/2)-w/2))
			y0 := math.Max(b.c.t+3, math.Min(b.c.b-h-3, q[1]+dy*(r+h/2)-h/2))
			cost := 0.6*r - 8*(dx*side[0]+dy*side[1])
			for _, o := range b.boxes {
				ox := math.Min(x0+w, o[2]) - math.Max(x0, o[0])
				oy := math.Min(y0+h, o[3]) - math.Max(y0, o[1])
				if ox > -5 && oy > -3 {
					cost += 2000 + math.Max(0, ox)*math.Max(0, oy)
				}
			}
			if cost >= least {
				continue
			}
			near := func(p [2]float64, m float64) bool {
				return p[0] > x0-m && p[0] < x0+w+m && p[1] > y0-m && p[1] < y0+h+m
			}
			for _, p := range b.dots {
				if near(p, 6) {
					cost += 400
				}
			}
			for _, p := range b.cycle {
				if near(p, 3) {
					cost += 70
				}
			}
			for _, p := range b.coverable {
				if near(p, 1) {
					cost += 5
				}
			}
			if cost >= least {
				continue
			}
			leader := sampled([][2]float64{q, nearestInBox(q, x0, y0, w, h)})
			for i, p := range leader {
				for _, o := range b.boxes {
					if p[0] > o[0]-2 && p[0] < o[2]+2 && p[1] > o[1]-2 && p[1] < o[3]+2 {
						cost += 150
					}
				}
				for _, d := range b.dots {
					if i > 2 && d != q && math.Hypot(p[0]-d[0], p[1]-d[1]) < 7 {
						cost += 60
					}
				}
				for _, d := range b.cycle {
					if i > 2 && math.Abs(p[0]-d[0])+math.Abs(p[1]-d[1]) < 4 {
						cost += 15
						break
					}
				}
			}
			if cost < least {
				least, x, y = cost, x0, y0
			}
		}
	}
	b.boxes = append(b.boxes, [4]float64{x, y, x + w, y + h})
	return x, y, least
}

// stateWords are the two lines at a state: name with its temperature, and what the trade counts there.
func (p PHData) stateWords(q circuit.State, w text.DiagramWords) (first, second string) {
	d := p.Display
	first = w.Corner(q.At) + " " + units.Whole(d.TempNumber(units.Temp(q.T), 1))
	diff := func(word string, v float64) string {
		return word + " " + d.DiffNumber(units.TempDiff(v), 1) + " " + d.DiffUnit()
	}
	switch q.At {
	case circuit.CoilIn:
		second = units.Fixed(100*q.VapourMass, 0) + " % " + w.Vapour
	case circuit.CoilOut:
		second = diff(w.Superheat, q.T-p.Cycle.Coil.Dew)
	case circuit.CompressorIn:
		second = diff(w.Superheat, q.T-p.Cycle.Suction.Dew)
	case circuit.LiquidOut:
		if l := p.Cycle.Head; l != nil {
			second = diff(w.Subcooling, l.Bubble-q.T)
		}
	}
	return first, second
}

// labelSides is where the words of a state belong: away from the middle of the cycle.
var labelSides = []struct {
	at   circuit.Corner
	side [2]float64
}{
	{circuit.CompressorOut, [2]float64{0.3, -1}},
	{circuit.LiquidOut, [2]float64{-0.7, -0.7}},
	{circuit.CompressorIn, [2]float64{1, 0.6}},
	{circuit.CoilOut, [2]float64{-0.1, 1}},
	{circuit.CoilIn, [2]float64{-0.7, 0.7}},
}

// fontMargin is how much wider than estimated a device's font may be.
const fontMargin = 1.12

// label is the words of a state and where they stand.
type label struct {
	first, second string
	at, side      [2]float64
	x, y, w, h    float64
}

func (p PHData) labels(c plane, b *labelSpace, w text.DiagramWords) []plot.Item {
	var all []label
	for _, k := range labelSides {
		q, ok := p.Cycle.Find(k.at)
		if !ok {
			continue
		}
		l := label{at: c.at(q.H, q.P), side: k.side, h: 18}
		l.first, l.second = p.stateWords(q, w)
		l.w = fontMargin*plot.Width(l.first, 14.5, true) + 4
		if l.second != "" {
			l.w, l.h = math.Max(l.w, fontMargin*plot.Width(l.second, 14.5, false)+4), 35
		}
		all = append(all, l)
	}
	// Where no line was read beside a gauge, its saturation is what there is to say.
	known := func(at ...circuit.Corner) bool {
		return slices.ContainsFunc(at, func(a circuit.Corner) bool { _, ok := p.Cycle.Find(a); return ok })
	}
	saturation := func(word string, T, h, P float64, side [2]float64) {
		l := label{first: word + " " + units.Whole(p.Display.TempNumber(units.Temp(T), 1)), at: c.at(h, P), side: side, h: 18}
		l.w = fontMargin*plot.Width(l.first, 14.5, true) + 4
		all = append(all, l)
	}
	if l := p.Cycle.Coil; l != nil && !known(circuit.CoilOut, circuit.CompressorIn) {
		saturation(w.Dew, l.Dew, l.HDew, l.P, [2]float64{0.2, 1})
	}
	if l := p.Cycle.Head; l != nil && !known(circuit.LiquidOut) {
		saturation(w.Bubble, l.Bubble, l.HBubble, l.P, [2]float64{-0.7, -0.7})
	}
	// The first that is placed takes the best place; of several orders the one that suits all.
	var best []label
	least := math.Inf(1)
	for first := range 2 * len(all) {
		now, sum := slices.Clone(all), 0.0
		attempt := *b
		attempt.boxes, attempt.cycle = slices.Clone(b.boxes), slices.Clone(b.cycle)
		for k := range now {
			i := (first + k) % len(now)
			if first >= len(all) {
				i = (first - k + len(now)) % len(now)
			}
			l, cost := &now[i], 0.0
			l.x, l.y, cost = attempt.place(l.at, l.side, l.w, l.h)
			sum += cost
			attempt.cycle = append(attempt.cycle, sampled([][2]float64{l.at, nearestInBox(l.at, l.x, l.y, l.w, l.h)})...)
		}
		if sum < least {
			least, best = sum, now
		}
	}
	var out, words []plot.Item
	for _, l := range best {
		// A leader where the words do not stand at their point.
		if end := nearestInBox(l.at, l.x, l.y, l.w, l.h); math.Hypot(end[0]-l.at[0], end[1]-l.at[1]) > 12 {
			out = append(out, plot.Line{X1: l.at[0], Y1: l.at[1], X2: end[0], Y2: end[1], Style: plot.Style{Class: "g-ink", Width: 1.2}})
		}
		words = append(
			words,
			plot.Rect{X: l.x, Y: l.y, W: l.w, H: l.h, Style: plot.Style{Class: "f-sheet"}},
			plot.Text{X: l.x + 2, Y: l.y + 14, S: l.first, Class: "x-s x-b f-ink"},
		)
		if l.second != "" {
			words = append(words, plot.Text{X: l.x + 2, Y: l.y + 31, S: l.second, Class: "x-s f-ink2"})
		}
	}
	return append(out, words...)
}
