package report_test

import (
	"bytes"
	"compress/zlib"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/report"
)

func drawn(t testing.TB, text string) *plot.Scene {
	t.Helper()
	s, err := record.ParseStrokes(text)
	if err != nil {
		t.Fatal(err)
	}
	scene := figure.Signature(
		record.Signature{SignBody: record.SignBody{Role: record.Customer, Name: "Kitchen lead", How: record.SignDrawn, Strokes: s}},
	)
	return &scene
}

// content is what a PDF draws, streams unpacked.
func content(t testing.TB, pdf []byte) string {
	t.Helper()
	var all strings.Builder
	for rest := pdf; ; {
		i := bytes.Index(rest, []byte("stream\n"))
		if i < 0 {
			return all.String()
		}
		rest = rest[i+len("stream\n"):]
		if z, err := zlib.NewReader(bytes.NewReader(rest)); err == nil {
			b, _ := io.ReadAll(z)
			all.Write(b)
		}
	}
}

// Who signed when stands whole on the line, on both papers, beside a drawing too: nothing of it is cut.
func TestPDF_SignedNamesWhole(t *testing.T) {
	at := time.Date(2026, 11, 30, 21, 45, 0, 0, time.UTC)
	for _, paper := range []report.Paper{report.A4, report.Letter} {
		for _, name := range []string{"Rosa Marin", "Bartholomew Featherstonehaugh-Cholmondeley", "Tom Reyes, van 4"} {
			d := visit(t)
			d.Paper = paper
			d.CustomerSigned = report.Signed{Name: name, At: at, Drawing: drawn(t, "120 200 30 -40 30 40 30 -40 30 40;300 90 80 0")}
			d.MechanicSigned = report.Signed{Name: name, At: at}
			got := strings.Join(strings.Fields(words(t, bytesOf(t, d))), " ")
			if n := strings.Count(got, name); n < 2 || strings.Contains(got, "…") {
				t.Errorf("%s, %q: %d times, cut: %v", paper, name, n, strings.Contains(got, "…"))
			}
			if n := strings.Count(got, "30 November 2026, 16:45"); n < 2 {
				t.Errorf("%s, %q: the time stands %d times", paper, name, n)
			}
		}
	}
}

// The document draws the very path of the page: every point of the drawing in one scale from one corner (y turned
// round, since PDF counts from below).
func TestPDF_SignatureIsTheSamePath(t *testing.T) {
	d := visit(t)
	const text = "120 200 30 -40 30 40 30 -40 30 40;300 90 80 0"
	d.CustomerSigned = report.Signed{
		Name:    "Kitchen lead",
		At:      time.Date(2026, 6, 16, 17, 30, 0, 0, time.UTC),
		Drawing: drawn(t, text),
		Changed: true,
	}
	d.MechanicSigned.Notes = []string{"signed on paper", "signed in program version 0.0"}
	pdf := bytesOf(t, d)
	if !bytes.Equal(pdf, bytesOf(t, d)) {
		t.Error("the same signature gave other bytes")
	}
	if dir := os.Getenv("REPORT_PAGE"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "signed.pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if n := pages(t, pdf); n != 1 {
		t.Errorf("%d pages", n)
	}
	got := strings.Join(strings.Fields(words(t, pdf)), " ")
	for _, want := range []string{
		"Kitchen lead, 16 June 2026, 12:30", "Changed since signed",
		"Signed on paper; signed in program version 0.0.",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q", want)
		}
	}
	svg := string(plot.HTML(*d.CustomerSigned.Drawing))
	stream := content(t, pdf)
	path := regexp.MustCompile(`(-?[\d.]+) (-?[\d.]+) ([ml])\s`)
	type point struct{ x, y float64 }
	var paths [][]point
	for _, m := range path.FindAllStringSubmatch(stream, -1) {
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		if m[3] == "m" {
			paths = append(paths, nil)
		}
		paths[len(paths)-1] = append(paths[len(paths)-1], point{x, y})
	}
	for _, want := range []struct {
		svg string
		at  []point
	}{
		{"M120 200L150 160L180 200L210 160L240 200", []point{{120, 200}, {150, 160}, {180, 200}, {210, 160}, {240, 200}}},
		{"M300 90L380 90", []point{{300, 90}, {380, 90}}},
	} {
		if !strings.Contains(svg, want.svg) {
			t.Errorf("the page does not draw %s", want.svg)
		}
		found := false
		for _, p := range paths {
			if len(p) != len(want.at) {
				continue
			}
			k := (p[1].x - p[0].x) / (want.at[1].x - want.at[0].x)
			same := k > 0.05
			for i := range p {
				// Points are printed with two decimals at least.
				same = same && math.Abs(p[i].x-p[0].x-k*(want.at[i].x-want.at[0].x)) < 0.03 &&
					math.Abs(p[i].y-p[0].y+k*(want.at[i].y-want.at[0].y)) < 0.03
			}
			found = found || same
		}
		if !found {
			t.Errorf("the document does not draw %s", want.svg)
		}
	}
	other := d
	other.CustomerSigned.Drawing = drawn(t, "120 200 30 -40 30 40 30 -40 30 40;300 91 80 0")
	if bytes.Equal(pdf, bytesOf(t, other)) {
		t.Error("another signature gave the same bytes")
	}
}
