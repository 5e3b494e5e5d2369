package plot

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"unicode"
)

// Scene is one drawing. Links says that it holds links, so that it is announced as a group and not as one picture.
type Scene struct {
	ID          string
	W, H        float64
	Title, Desc string
	Class       string // class of the whole drawing
	Links       bool
	Stretch     bool // may be stretched out of proportion
	Items       []Item
}

// Hatch is a fill of slanted lines.
type Hatch int

// The hatchings. Healthy is what is healthy; Loose the same for large areas; Wall is insulation.
const (
	HatchUnknown Hatch = iota // none
	Healthy
	Loose
	Wall
)

// Style is how a shape looks: classes, width of the stroke, dashes, hatching.
type Style struct {
	Class string
	Width float64
	Dash  []float64
	Hatch Hatch
}

// Item is a part of a scene: Line, Rect, Circle, Path, Text, Group or Link.
type Item interface{ item() }

type (
	// Line is a straight line.
	Line struct {
		X1, Y1, X2, Y2 float64
		Style
	}
	// Rect is a rectangle, R its corner radius.
	Rect struct {
		X, Y, W, H, R float64
		Style
	}
	// Circle is a circle.
	Circle struct {
		X, Y, R float64
		Style
	}
	// Path is an outline of straight lines and Bézier curves.
	Path struct {
		D       []Cmd
		EvenOdd bool
		Round   bool // round joins and ends
		Style
	}
	// Text is one line of text; Tail follows it in another class (a unit after a number).
	Text struct {
		X, Y            float64
		S, Class        string
		Tail, TailClass string
	}
	// Group is several items with a common class.
	Group struct {
		Class string
		Items []Item
	}
	// Link is a group that leads somewhere and has a spoken label.
	Link struct {
		Href, Label, Class string
		Items              []Item
	}
)

func (Line) item()   {}
func (Rect) item()   {}
func (Circle) item() {}
func (Path) item()   {}
func (Text) item()   {}
func (Group) item()  {}
func (Link) item()   {}

// Add appends items.
func (s *Scene) Add(items ...Item) { s.Items = append(s.Items, items...) }

// Walk calls f for every item, groups and links before what they hold.
func Walk(items []Item, f func(Item)) {
	for _, i := range items {
		f(i)
		switch v := i.(type) {
		case Group:
			Walk(v.Items, f)
		case Link:
			Walk(v.Items, f)
		}
	}
}

// has reports whether class is one of the words of classes.
func has(classes, class string) bool {
	for w := range strings.FieldsSeq(classes) {
		if w == class {
			return true
		}
	}
	return false
}

// FontSize returns the size of the text, which its class names.
func (t Text) FontSize() float64 {
	switch {
	case has(t.Class, "x-m"):
		return 15
	case has(t.Class, "x-l"):
		return 18
	case has(t.Class, "x-xl"):
		return 24
	}
	return 14.5
}

// Bold reports whether the text is set bold.
func (t Text) Bold() bool { return has(t.Class, "x-b") }

// tailGap stands between a text and its tail.
const tailGap = 4

// Box returns an estimate of the rectangle the text covers.
func (t Text) Box() (x0, y0, x1, y1 float64) {
	size := t.FontSize()
	w := Width(t.S, size, t.Bold())
	if t.Tail != "" {
		tail := Text{Class: t.TailClass}
		w += tailGap + Width(t.Tail, tail.FontSize(), t.Bold())
	}
	x0 = t.X
	switch {
	case has(t.Class, "x-e"):
		x0 -= w
	case has(t.Class, "x-c"):
		x0 -= w / 2
	}
	return x0, t.Y - 0.78*size, x0 + w, t.Y + 0.22*size
}

// Width estimates the width of a text. The page uses the device's own font, so this is an upper middle of common screen fonts, from memory.
func Width(s string, size float64, bold bool) float64 {
	w := 0.0
	for _, r := range s {
		switch {
		case strings.ContainsRune("iljI.,:;|!'’·", r):
			w += 0.27
		case strings.ContainsRune("ftr()[]- \u00a0/°\"", r):
			w += 0.35
		case strings.ContainsRune("mwMW%@—", r):
			w += 0.86
		case r == '₂' || r == '²':
			w += 0.37
		case unicode.IsUpper(r):
			w += 0.65
		case unicode.IsDigit(r) || strings.ContainsRune("+−±=<>", r):
			w += 0.58
		default:
			w += 0.54
		}
	}
	if bold {
		w *= 1.08
	}
	return w * size
}

// Spread moves intervals apart as little as possible (least squares) so that they do not overlap and stay between lo and hi.
//
//   - in: want, wished centres; height, their heights; gap between neighbours
//   - out: centres in the same order; if all together do not fit, they start at lo and go beyond hi
//   - source: isotonic regression by pooling neighbours that violate the order, a textbook method
func Spread(want, height []float64, gap, lo, hi float64) []float64 {
	n := len(want)
	idx := make([]int, n)
	for i := range idx {
		idx[i] = i
	}
	slices.SortStableFunc(idx, func(a, b int) int { return cmp.Compare(want[a], want[b]) })
	if n == 0 {
		return nil
	}
	// offset[k] is how far interval k must lie below the first; subtracting it leaves a plain monotone fit.
	offset := make([]float64, n)
	for k := 1; k < n; k++ {
		offset[k] = offset[k-1] + (height[idx[k-1]]+height[idx[k]])/2 + gap
	}
	type pool struct {
		sum float64
		n   int
	}
	var pools []pool
	for k := range n {
		pools = append(pools, pool{want[idx[k]] - offset[k], 1})
		for len(pools) > 1 {
			a, b := pools[len(pools)-2], pools[len(pools)-1]
			if a.sum/float64(a.n) <= b.sum/float64(b.n) {
				break
			}
			pools = append(pools[:len(pools)-2], pool{a.sum + b.sum, a.n + b.n})
		}
	}
	first, last := lo+height[idx[0]]/2, hi-height[idx[n-1]]/2-offset[n-1]
	out := make([]float64, n)
	k := 0
	for _, p := range pools {
		z := math.Max(math.Min(p.sum/float64(p.n), last), first)
		for range p.n {
			out[idx[k]] = z + offset[k]
			k++
		}
	}
	return out
}
