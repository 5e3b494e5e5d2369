package figure

import (
	"coldwright/record"
	"coldwright/say/plot"
	"coldwright/say/text"
)

// Signature draws a signature as it was signed, one path through all its points; a tap is a dot.
func Signature(s record.Signature) plot.Scene {
	out := plot.Scene{
		ID:    "sign-" + string(s.Role),
		W:     record.SignWidth,
		H:     record.SignHeight,
		Title: text.SignatureOf(text.English, s.Name),
		Class: "hand",
	}
	const pen = 7.0
	for _, stroke := range s.Strokes {
		var at [][2]float64
		for _, p := range stroke {
			at = append(at, [2]float64{float64(p[0]), float64(p[1])})
		}
		if len(at) == 1 {
			out.Add(plot.Circle{X: at[0][0], Y: at[0][1], R: pen, Style: plot.Style{Class: "f-ink"}})
			continue
		}
		out.Add(plot.Path{D: plot.Polyline(at, false), Round: true, Style: plot.Style{Class: "f-none g-ink", Width: pen}})
	}
	return out
}
