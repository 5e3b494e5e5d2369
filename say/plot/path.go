package plot

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Op is a step of a path.
type Op byte

// The steps, all absolute.
const (
	OpUnknown Op = 0
	Move      Op = 'M'
	LineTo    Op = 'L'
	Curve     Op = 'C' // two control points, then the end
	Close     Op = 'Z'
)

// Cmd is one step with its points.
type Cmd struct {
	Op Op
	P  [6]float64
}

// D reads path data of the SVG form (M L H V C A Z, absolute and relative; arcs only whole quarter turns or unrotated) into absolute steps.
// The text is written in the program, so a mistake in it panics.
func D(format string, args ...any) []Cmd {
	s := format
	if len(args) > 0 {
		s = fmt.Sprintf(format, args...)
	}
	var out []Cmd
	var x, y, sx, sy float64
	rest := s
	var op byte
	number := func() float64 {
		rest = strings.TrimLeft(rest, " ,\n")
		n := 0
		for n < len(rest) && (rest[n] >= '0' && rest[n] <= '9' || rest[n] == '.' || n == 0 && (rest[n] == '-' || rest[n] == '+')) {
			n++
		}
		v, err := strconv.ParseFloat(rest[:n], 64)
		if err != nil {
			panic("plot: path data " + strconv.Quote(s) + " near " + strconv.Quote(rest))
		}
		rest = rest[n:]
		return v
	}
	for {
		rest = strings.TrimLeft(rest, " ,\n")
		if rest == "" {
			return out
		}
		if c := rest[0]; c >= 'A' && c <= 'z' {
			op, rest = c, rest[1:]
		}
		var bx, by float64
		if op >= 'a' {
			bx, by = x, y
		}
		switch op {
		case 'M', 'm':
			x, y = bx+number(), by+number()
			sx, sy = x, y
			out = append(out, Cmd{Move, [6]float64{x, y}})
			op = op - 'M' + 'L' // further pairs are lines
		case 'L', 'l':
			x, y = bx+number(), by+number()
			out = append(out, Cmd{LineTo, [6]float64{x, y}})
		case 'H', 'h':
			x = bx + number()
			out = append(out, Cmd{LineTo, [6]float64{x, y}})
		case 'V', 'v':
			y = by + number()
			out = append(out, Cmd{LineTo, [6]float64{x, y}})
		case 'C', 'c':
			var p [6]float64
			for i := range 3 {
				p[2*i], p[2*i+1] = bx+number(), by+number()
			}
			x, y = p[4], p[5]
			out = append(out, Cmd{Curve, p})
		case 'A', 'a':
			rx, ry := number(), number()
			number() // rotation of the ellipse: not used
			large, sweep := number() != 0, number() != 0
			ex, ey := bx+number(), by+number()
			out = append(out, arc(x, y, rx, ry, large, sweep, ex, ey)...)
			x, y = ex, ey
		case 'Z', 'z':
			x, y = sx, sy
			out = append(out, Cmd{Op: Close})
		default:
			panic("plot: path data " + strconv.Quote(s) + " near " + strconv.Quote(rest))
		}
	}
}

// arc turns an elliptical arc into curves of at most a quarter turn (centre form of the SVG recommendation, appendix F.6).
func arc(x1, y1, rx, ry float64, large, sweep bool, x2, y2 float64) []Cmd {
	dx, dy := (x1-x2)/2, (y1-y2)/2
	if l := dx*dx/(rx*rx) + dy*dy/(ry*ry); l > 1 {
		rx, ry = rx*math.Sqrt(l), ry*math.Sqrt(l)
	}
	q := math.Max(0, (rx*rx*ry*ry-rx*rx*dy*dy-ry*ry*dx*dx)/(rx*rx*dy*dy+ry*ry*dx*dx))
	f := math.Sqrt(q)
	if large == sweep {
		f = -f
	}
	cx, cy := f*rx*dy/ry+(x1+x2)/2, -f*ry*dx/rx+(y1+y2)/2
	a0 := math.Atan2((y1-cy)/ry, (x1-cx)/rx)
	da := math.Atan2((y2-cy)/ry, (x2-cx)/rx) - a0
	if sweep && da < 0 {
		da += 2 * math.Pi
	}
	if !sweep && da > 0 {
		da -= 2 * math.Pi
	}
	n := int(math.Ceil(math.Abs(da)/(math.Pi/2) - 1e-9))
	var out []Cmd
	for i := range n {
		a, b := a0+da*float64(i)/float64(n), a0+da*float64(i+1)/float64(n)
		k := 4.0 / 3 * math.Tan((b-a)/4)
		ca, sa, cb, sb := math.Cos(a), math.Sin(a), math.Cos(b), math.Sin(b)
		p := [6]float64{cx + rx*(ca-k*sa), cy + ry*(sa+k*ca), cx + rx*(cb+k*sb), cy + ry*(sb-k*cb), cx + rx*cb, cy + ry*sb}
		if i == n-1 {
			p[4], p[5] = x2, y2
		}
		out = append(out, Cmd{Curve, p})
	}
	return out
}

// Polyline returns the path through points, closed or not.
func Polyline(points [][2]float64, closed bool) []Cmd {
	var out []Cmd
	for i, p := range points {
		op := LineTo
		if i == 0 {
			op = Move
		}
		out = append(out, Cmd{op, [6]float64{p[0], p[1]}})
	}
	if closed && len(out) > 0 {
		out = append(out, Cmd{Op: Close})
	}
	return out
}

// flatten returns the path as polygons; curves become 12 chords.
func flatten(d []Cmd) [][][2]float64 {
	var out [][][2]float64
	var cur [][2]float64
	for _, c := range d {
		switch c.Op {
		case Move:
			if len(cur) > 1 {
				out = append(out, cur)
			}
			cur = [][2]float64{{c.P[0], c.P[1]}}
		case LineTo:
			cur = append(cur, [2]float64{c.P[0], c.P[1]})
		case Curve:
			a := cur[len(cur)-1]
			for i := 1; i <= 12; i++ {
				t := float64(i) / 12
				u := 1 - t
				at := func(k int) float64 {
					return u*u*u*a[k] + 3*u*u*t*c.P[k] + 3*u*t*t*c.P[2+k] + t*t*t*c.P[4+k]
				}
				cur = append(cur, [2]float64{at(0), at(1)})
			}
		}
	}
	if len(cur) > 1 {
		out = append(out, cur)
	}
	return out
}

// hatchLines returns the segments of lines x − y = const, step apart along the normal, inside the polygons (even-odd rule).
func hatchLines(polygons [][][2]float64, step float64) [][4]float64 {
	// In u = (x − y)/√2, v = (x + y)/√2 the lines are u = const.
	r := math.Sqrt2
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range polygons {
		for _, q := range p {
			u := (q[0] - q[1]) / r
			lo, hi = math.Min(lo, u), math.Max(hi, u)
		}
	}
	var out [][4]float64
	for k := math.Ceil(lo / step); k*step < hi; k++ {
		u := k * step
		var vs []float64
		for _, p := range polygons {
			for i := range p {
				a, b := p[i], p[(i+1)%len(p)]
				ua, ub := (a[0]-a[1])/r, (b[0]-b[1])/r
				if (ua < u) != (ub < u) {
					t := (u - ua) / (ub - ua)
					va, vb := (a[0]+a[1])/r, (b[0]+b[1])/r
					vs = append(vs, va+t*(vb-va))
				}
			}
		}
		slices.Sort(vs)
		for i := 0; i+1 < len(vs); i += 2 {
			out = append(out, [4]float64{(u + vs[i]) / r, (vs[i] - u) / r, (u + vs[i+1]) / r, (vs[i+1] - u) / r})
		}
	}
	return out
}
