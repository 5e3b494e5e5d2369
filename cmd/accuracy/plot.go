package main

import (
	"fmt"
	"strings"

	"coldwright/diagnose/casebook"
)

// plot draws stated against observed with one mark shape per set.
func plot(scores []casebook.Score) string {
	var b strings.Builder
	const size, left, top = 360.0, 60.0, 20.0
	x := func(v float64) float64 { return left + size*v }
	y := func(v float64) float64 { return top + size*(1-v) }
	fmt.Fprintf(
		&b,
		"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 460 450\" font-family=\"sans-serif\" font-size=\"14\" "+
			"role=\"img\"><title>Calibration</title><desc>Stated probability against observed frequency for reading sets a, b and d without, and "+
			"the full one (f) with a healthy visit on file; the diagonal is perfect.</desc><rect width=\"460\" height=\"450\" fill=\"#fff\"/>\n",
	)
	for k := 0; k <= 10; k += 2 {
		v := float64(k) / 10
		fmt.Fprintf(
			&b,
			"<path d=\"M%.1f %.1fV%.1fM%.1f %.1fH%.1f\" stroke=\"#cbd5d3\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%.1f</text><text "+
				"x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%.1f</text>\n",
			x(v),
			y(0),
			y(1),
			x(0),
			y(v),
			x(1),
			x(v),
			y(0)+18,
			v,
			x(0)-6,
			y(v)+5,
			v,
		)
	}
	fmt.Fprintf(&b, "<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#0d181e\" stroke-dasharray=\"5 4\"/>\n", x(0), y(0), x(1), y(1))
	for _, s := range scores {
		var last [2]float64
		for k, bin := range s.Bins {
			px, py := x(bin.Stated), y(bin.Observed)
			if k > 0 {
				fmt.Fprintf(
					&b,
					"<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#064b54\" stroke-width=\"1\" opacity=\"0.5\"/>\n",
					last[0],
					last[1],
					px,
					py,
				)
			}
			last = [2]float64{px, py}
			fmt.Fprintf(
				&b,
				"<circle cx=\"%.1f\" cy=\"%.1f\" r=\"9\" fill=\"#fff\" stroke=\"#064b54\"/><text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\" "+
					"font-size=\"12\">%c</text>\n",
				px,
				py,
				px,
				py+4,
				s.View.Set,
			)
		}
	}
	fmt.Fprintf(
		&b,
		"<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">stated probability</text><text x=\"16\" y=\"%.1f\" text-anchor=\"middle\" "+
			"transform=\"rotate(-90 16 %.1f)\">observed frequency</text></svg>\n",
		x(0.5),
		y(0)+40,
		y(0.5),
		y(0.5),
	)
	return b.String()
}
