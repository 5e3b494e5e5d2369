package figure

import (
	"math"
	"slices"

	"coldwright/refrigerant"
	"coldwright/say/plot"
)

// plane is the window of the diagram: enthalpy across, logarithm of absolute pressure up.
type plane struct {
	l, r, t, b     float64
	h0, h1, p0, p1 float64
}

func (c plane) x(h float64) float64 { return c.l + (h-c.h0)/(c.h1-c.h0)*(c.r-c.l) }
func (c plane) y(p float64) float64 { return c.t + math.Log(c.p1/p)/math.Log(c.p1/c.p0)*(c.b-c.t) }

func (c plane) at(h, p float64) [2]float64 { return [2]float64{c.x(h), c.y(p)} }

// clip cuts a line of points at the edges of the window; what is left may be several pieces.
func (c plane) clip(points [][2]float64) [][][2]float64 {
	var out [][][2]float64
	var now [][2]float64
	flush := func() {
		if len(now) > 1 {
			out = append(out, now)
		}
		now = nil
	}
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		t0, t1 := 0.0, 1.0
		for _, e := range [4][2]float64{{a[0] - c.l, b[0] - c.l}, {c.r - a[0], c.r - b[0]}, {a[1] - c.t, b[1] - c.t}, {c.b - a[1], c.b - b[1]}} {
			switch {
			case e[0] < 0 && e[1] < 0:
				t0, t1 = 1, 0
			case e[0] < 0:
				t0 = math.Max(t0, e[0]/(e[0]-e[1]))
			case e[1] < 0:
				t1 = math.Min(t1, e[0]/(e[0]-e[1]))
			}
		}
		if t0 >= t1 {
			flush()
			continue
		}
		mix := func(t float64) [2]float64 { return [2]float64{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])} }
		if t0 > 0 || len(now) == 0 {
			flush()
			now = append(now, mix(t0))
		}
		now = append(now, mix(t1))
		if t1 < 1 {
			flush()
		}
	}
	flush()
	return out
}

// simplify drops points that lie on the line through their neighbours to a fifth of a unit: Douglas and Peucker (1973),
// Cartographica 10:112-122.
func simplify(points [][2]float64) [][2]float64 {
	if len(points) < 3 {
		return points
	}
	a, b := points[0], points[len(points)-1]
	dx, dy := b[0]-a[0], b[1]-a[1]
	length, far, worst := math.Hypot(dx, dy), 0, 0.2
	for i := 1; i < len(points)-1; i++ {
		d := math.Hypot(points[i][0]-a[0], points[i][1]-a[1])
		if length > 0 {
			d = math.Abs((points[i][0]-a[0])*dy-(points[i][1]-a[1])*dx) / length
		}
		if d > worst {
			far, worst = i, d
		}
	}
	if far == 0 {
		return [][2]float64{a, b}
	}
	return append(slices.Clone(simplify(points[:far+1])), simplify(points[far:])[1:]...)
}

// curve draws states as a line inside the window.
func (c plane) curve(points []refrigerant.ChartPoint, st plot.Style) []plot.Item {
	var xy [][2]float64
	for _, q := range points {
		xy = append(xy, c.at(q.H, q.P))
	}
	return c.line(xy, st)
}

func (c plane) line(xy [][2]float64, st plot.Style) []plot.Item {
	st.Class = "f-none " + st.Class
	var out []plot.Item
	for _, piece := range c.clip(xy) {
		out = append(out, plot.Path{D: plot.Polyline(simplify(piece), false), Round: len(st.Dash) == 0, Style: st})
	}
	return out
}
