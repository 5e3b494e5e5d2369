package plot_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os/exec"
	"strings"
	"testing"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"pgregory.net/rapid"

	"coldwright/say/plot"
)

// wellFormed walks the XML and returns the text in it.
func wellFormed(t interface{ Fatalf(string, ...any) }, s string) string {
	d := xml.NewDecoder(strings.NewReader(s))
	var out strings.Builder
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out.String()
		}
		if err != nil {
			t.Fatalf("not well-formed: %v in %s", err, s)
		}
		if c, ok := tok.(xml.CharData); ok {
			out.Write(c)
		}
	}
}

func sample(words string) plot.Scene {
	s := plot.Scene{ID: "s", W: 200, H: 120, Title: words, Desc: words, Links: true}
	s.Add(
		plot.Rect{X: 10, Y: 10, W: 60, H: 40, R: 3, Style: plot.Style{Class: "g-frost", Width: 1.5, Hatch: plot.Healthy}},
		plot.Path{
			D:       plot.D("M100 10h80v80h-80zM120 30v40h40v-40z"),
			EvenOdd: true,
			Style:   plot.Style{Class: "g-ink", Width: 1, Hatch: plot.Wall},
		},
		plot.Circle{X: 40, Y: 80, R: 12, Style: plot.Style{Class: "f-sheet g-ink", Width: 2, Dash: []float64{4, 3}}},
		plot.Link{Href: "?a=1&b=\"2\"", Label: words, Class: "tap off", Items: []plot.Item{
			plot.Rect{X: 80, Y: 60, W: 10, H: 10, Style: plot.Style{Class: "face"}},
			plot.Group{
				Class: "pulse",
				Items: []plot.Item{plot.Text{X: 10, Y: 110, S: words, Class: "x-l x-b f-ink", Tail: "°F", TailClass: "x-s f-ink2"}},
			},
		}},
	)
	return s
}

func TestSVG_EscapesEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.OneOf(rapid.String(), rapid.SampledFrom(
			[]string{`</text><script>alert(1)</script>`, `"' onload='x`, "&lt;", "]]>", "\x00\x0b\ufffe"})).
			Draw(t, "words")
		svg := string(plot.HTML(sample(words)))
		want := strings.Map(func(r rune) rune {
			if r < ' ' && r != '\t' && r != '\n' || r == 0xfffe || r == 0xffff {
				return -1
			}
			return r
		}, strings.ToValidUTF8(words, "\uFFFD"))
		// Title, description and the text itself, each read back as it went in.
		if got := wellFormed(t, svg); got != want+want+want+" °F" {
			t.Fatalf("%q turned into %q", words, got)
		}
		if strings.Contains(svg, "<script") {
			t.Fatalf("script in %s", svg)
		}
	})
}

func TestSVG_SpeaksAndLinks(t *testing.T) {
	s := string(plot.HTML(sample("Suction: 17.5 psig, 11 °F under")))
	for _, want := range []string{
		`role="group"`, `aria-labelledby="s-t s-d"`, `<title id="s-t">Suction`, `<desc id="s-d">`,
		`<a href="?a=1&amp;b=&quot;2&quot;" class="tap off" aria-label="Suction: 17.5 psig, 11 °F under">`,
		`fill="url(#s-h)"`, `<pattern id="s-w"`, `fill-rule="evenodd"`, `stroke-dasharray="4 3"`, `<tspan class="x-s f-ink2"> °F</tspan>`,
	} {
		if !strings.Contains(s, want) {
			t.Errorf("no %s in %s", want, s)
		}
	}
}

func TestD_Forms(t *testing.T) {
	// The same square in absolute, relative and mixed steps.
	for _, form := range []string{"M1 2L5 2L5 6L1 6Z", "m1,2l4 0 0,4-4 0z", "M1 2H5V6H1z", "M1 2h4v4h-4z"} {
		got := plot.D("%s", form)
		want := [][2]float64{{1, 2}, {5, 2}, {5, 6}, {1, 6}}
		if len(got) != 5 {
			t.Fatalf("%s: %d steps", form, len(got))
		}
		for i, w := range want {
			if got[i].P[0] != w[0] || got[i].P[1] != w[1] {
				t.Errorf("%s: step %d is %v, want %v", form, i, got[i].P[:2], w)
			}
		}
	}
}

// Every point of an arc lies on its ellipse, by definition; cubic quarter arcs deviate by at most 2.8e-4 of the
// radius (identity of the constant).
func TestD_ArcStaysOnEllipse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(1, 50).Draw(t, "r")
		a, b := rapid.Float64Range(0, 6).Draw(t, "a"), rapid.Float64Range(0.2, 6).Draw(t, "sweep")
		if math.Abs(b-math.Pi) < 0.05 {
			b += 0.1 // a half turn has two centres
		}
		large := 0
		if b > math.Pi {
			large = 1
		}
		x0, y0, x1, y1 := 100+r*math.Cos(a), 100+r*math.Sin(a), 100+r*math.Cos(a+b), 100+r*math.Sin(a+b)
		d := plot.D("M%.12f %.12fA%.12f %.12f 0 %d 1 %.12f %.12f", x0, y0, r, r, large, x1, y1)
		prev := [2]float64{d[0].P[0], d[0].P[1]}
		for _, c := range d[1:] {
			for i := range 9 {
				u := float64(i) / 8
				at := func(k int) float64 {
					return math.Pow(1-u, 3)*prev[k] + 3*math.Pow(1-u, 2)*u*c.P[k] + 3*(1-u)*u*u*c.P[2+k] + u*u*u*c.P[4+k]
				}
				if got := math.Hypot(at(0)-100, at(1)-100); math.Abs(got-r) > 3e-4*r+1e-6 {
					t.Fatalf("point at distance %v from the centre, radius %v", got, r)
				}
			}
			prev = [2]float64{c.P[4], c.P[5]}
		}
	})
}

func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 14).Draw(t, "n")
		var want, height []float64
		sum := 0.0
		for range n {
			want = append(want, rapid.Float64Range(-100, 900).Draw(t, "want"))
			height = append(height, rapid.Float64Range(5, 50).Draw(t, "height"))
			sum += height[len(height)-1] + 3
		}
		lo, hi := 10.0, 10+math.Max(sum, rapid.Float64Range(100, 800).Draw(t, "room"))
		got := plot.Spread(want, height, 3, lo, hi)
		for i := range got {
			if got[i]-height[i]/2 < lo-1e-6 || got[i]+height[i]/2 > hi+1e-6 {
				t.Fatalf("%d at %v leaves %v to %v", i, got[i], lo, hi)
			}
			for j := range got {
				if i != j && math.Abs(got[i]-got[j]) < (height[i]+height[j])/2+3-1e-6 {
					t.Fatalf("%d and %d overlap: %v %v", i, j, got[i], got[j])
				}
				if want[i] < want[j] && got[i] > got[j] {
					t.Fatalf("order of %d and %d is lost", i, j)
				}
			}
		}
	})
	// What already fits does not move.
	if got := plot.Spread([]float64{50, 20}, []float64{10, 10}, 1, 0, 100); got[0] != 50 || got[1] != 20 {
		t.Errorf("moved to %v", got)
	}
}

func document(t *testing.T, s plot.Scene) []byte {
	t.Helper()
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.SetCatalogSort(true)
	at := time.Date(2026, 6, 16, 12, 20, 0, 0, time.UTC)
	pdf.SetCreationDate(at)
	pdf.SetModificationDate(at)
	plot.AddFonts(pdf)
	pdf.AddPage()
	plot.Draw(pdf, s, 20, 20, 60)
	var b bytes.Buffer
	if err := pdf.Output(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestDraw_SameBytesAndAllGlyphs(t *testing.T) {
	s := sample("Kühlraum Größe: −18 °C, R-744 CO₂ ± Δ")
	a, b := document(t, s), document(t, s)
	if !bytes.Equal(a, b) {
		t.Error("the same scene gave other bytes")
	}
	cmd := exec.Command("pdftotext", "-", "-")
	cmd.Stdin = bytes.NewReader(a)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	for _, want := range []string{"Kühlraum Größe", "−18 °C", "CO₂", "±", "°F"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("no %q in %q", want, out)
		}
	}
}

// The estimate follows the font of the PDF from 0.955 of its width ("11 under", bold) to 1.065 ("Air off coil"). The
// drawings leave a tenth or more beside a text for the fonts of devices: the font of the document may take half of it.
// Wider than 1.08 would shorten and break texts that fit.
func TestWidth_CoversTheDocumentFont(t *testing.T) {
	pdf := fpdf.New("P", "pt", "A4", "")
	plot.AddFonts(pdf)
	pdf.AddPage()
	for _, bold := range []bool{false, true} {
		style := ""
		if bold {
			style = "B"
		}
		pdf.SetFont(plot.Family, style, 14.5)
		for _, s := range []string{
			"Suction, sat.", "in, 155 to 177", "Discharge", "11 under", "Air off coil", "−40 to −30",
			"Condenser dirty or short of air", "Expansion valve feeding too little",
		} {
			got, real := plot.Width(s, 14.5, bold), pdf.GetStringWidth(s)
			if got < 0.95*real || got > 1.08*real {
				t.Errorf("%q bold=%v: estimate %.1f, font %.1f", s, bold, got, real)
			}
		}
	}
}

func ExampleHTML() {
	s := plot.Scene{ID: "x", W: 9, H: 9, Items: []plot.Item{plot.Line{X2: 9, Y2: 9, Style: plot.Style{Class: "g-ink"}}}}
	fmt.Println(plot.HTML(s))
	// Output:
	// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" aria-hidden="true"><line x1="0" y1="0" x2="9" y2="9" class="g-ink"/></svg>
}
