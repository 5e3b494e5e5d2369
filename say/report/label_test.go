package report_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"coldwright/fail"
	"coldwright/say/report"
)

func label(i int) report.Label {
	return report.Label{
		Name:  fmt.Sprintf("Walk-in freezer %d", i),
		Site:  "Marsh Lane School, kitchen",
		Lines: []string{"R-404A", "Full charge 14 lb"},
		ID:    fmt.Sprintf("4e21-%04d", i),
		URL:   fmt.Sprintf("http://192.168.20.31:8080/machines/01998c5e-7c00-7abc-8def-%012d", i),
	}
}

func labels(t testing.TB, n int, o report.LabelOptions) []byte {
	t.Helper()
	var list []report.Label
	for i := range n {
		list = append(list, label(i))
	}
	var b bytes.Buffer
	if err := report.Labels(&b, list, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// raster is a page of a PDF as poppler draws it.
func raster(t testing.TB, pdf []byte, page, dpi int) image.Image {
	t.Helper()
	cmd := exec.Command("pdftoppm", "-png", "-r", fmt.Sprint(dpi), "-f", fmt.Sprint(page), "-l", fmt.Sprint(page), "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftoppm: %v", err)
	}
	i, err := png.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	return i
}

// scan reads the code in a part of a page with an independent decoder; "" when there is none.
func scan(t testing.TB, page image.Image, part image.Rectangle) string {
	t.Helper()
	cut := page.(interface {
		SubImage(image.Rectangle) image.Image
	}).SubImage(part)
	b, err := gozxing.NewBinaryBitmapFromImage(cut)
	if err != nil {
		t.Fatal(err)
	}
	r, err := qrcode.NewQRCodeReader().Decode(b, nil)
	if err != nil {
		return ""
	}
	return r.GetText()
}

// Every label of every sheet says, read back from the drawn page, the address it was given; labels before the start are free.
func TestLabels_Decoded(t *testing.T) {
	const dpi = 200
	for _, paper := range report.LabelPapers() {
		for _, sheet := range paper.Sheets {
			t.Run(paper.Key+" "+sheet.Key, func(t *testing.T) {
				start, n := 3, sheet.N()-1 // one goes over to the next sheet
				pdf := labels(t, n, report.LabelOptions{Paper: paper.Key, Size: sheet.Key, Start: start, Edges: sheet.Key == "large"})
				if dir := os.Getenv("REPORT_PAGE"); dir != "" {
					if err := os.WriteFile(filepath.Join(dir, "labels-"+paper.Key+"-"+sheet.Key+".pdf"), pdf, 0o644); err != nil {
						t.Fatal(err)
					}
				}
				if got := pages(t, pdf); got != 2 {
					t.Fatalf("%d pages", got)
				}
				found := 0
				for page := range 2 {
					img := raster(t, pdf, page+1, dpi)
					b := img.Bounds()
					// The paper's own size, to a pixel.
					if w, h := paper.W/25.4*dpi, paper.H/25.4*dpi; float64(b.Dx()) < w-1 || float64(b.Dx()) > w+1 ||
						float64(b.Dy()) < h-1 ||
						float64(b.Dy()) > h+1 {
						t.Fatalf("a page of %v", b)
					}
					// A label is a cell of the even grid that the columns and rows make around the middle of the paper.
					cw, ch := (sheet.W+sheet.Gap)/25.4*dpi, sheet.H/25.4*dpi
					x0, y0 := float64(b.Dx())/2-cw*float64(sheet.Columns)/2, float64(b.Dy())/2-ch*float64(sheet.Rows)/2
					for k := range sheet.N() {
						x, y := x0+cw*float64(k%sheet.Columns), y0+ch*float64(k/sheet.Columns)
						got := scan(t, img, image.Rect(int(x), int(y), int(x+cw), int(y+ch)).Intersect(b))
						i := page*sheet.N() + k - (start - 1)
						want := ""
						if i >= 0 && i < n {
							want = label(i).URL
							found++
						}
						if got != want {
							t.Errorf("page %d, label %d says %q, want %q", page+1, k+1, got, want)
						}
					}
				}
				if found != n {
					t.Errorf("%d labels looked for, %d printed", found, n)
				}
				said := strings.Join(strings.Fields(words(t, pdf)), " ")
				for _, want := range []string{"Walk-in freezer 0", "Marsh Lane School, kitchen", "R-404A", "4e21-0000"} {
					if !strings.Contains(said, want) {
						t.Errorf("no %q", want)
					}
				}
				if !bytes.Equal(
					pdf,
					labels(t, n, report.LabelOptions{Paper: paper.Key, Size: sheet.Key, Start: start, Edges: sheet.Key == "large"}),
				) {
					t.Error("the same labels gave other bytes")
				}
			})
		}
	}
}

// The sheets lie on their paper, and the code has the quiet zone of four modules that ISO/IEC 18004 asks for.
func TestLabels_Fit(t *testing.T) {
	for _, p := range report.LabelPapers() {
		for _, s := range p.Sheets {
			if w, h := float64(s.Columns)*s.W+float64(s.Columns-1)*s.Gap, float64(s.Rows)*s.H; w > p.W+1e-9 || h > p.H+1e-9 || w < 0.9*p.W ||
				h < 0.85*p.H {
				t.Errorf("%s %s: %g × %g on %g × %g", p.Key, s.Key, w, h, p.W, p.H)
			}
		}
	}
	c, err := report.Code("http://10.0.0.1:8080/machines/x")
	if err != nil {
		t.Fatal(err)
	}
	// A code has 17 + 4 × version modules a side (ISO/IEC 18004).
	if n := int(c.W) - 8; c.W != c.H || (n-17)%4 != 0 || n < 21 {
		t.Errorf("%g × %g", c.W, c.H)
	}
}

func TestLabels_Refused(t *testing.T) {
	good := report.LabelOptions{Paper: "a4", Size: "small", Start: 24}
	long := label(1)
	long.URL += strings.Repeat("/x", 3000)
	for what, x := range map[string]struct {
		o     report.LabelOptions
		l     report.Label
		field string
	}{
		"paper":    {report.LabelOptions{Paper: "A5", Size: "small", Start: 1}, label(1), "paper"},
		"size":     {report.LabelOptions{Paper: "a4", Size: "huge", Start: 1}, label(1), "size"},
		"no start": {report.LabelOptions{Paper: "a4", Size: "small"}, label(1), "start"},
		"beyond":   {report.LabelOptions{Paper: "a4", Size: "small", Start: 25}, label(1), "start"}, "address": {good, long, "address"},
	} {
		err := report.Labels(&bytes.Buffer{}, []report.Label{x.l}, x.o)
		if f, ok := err.(*fail.Error); !ok || f.Field != x.field || !strings.HasPrefix(f.Key, "label.") {
			t.Errorf("%s: %v", what, err)
		}
	}
	for in, want := range map[string]int{"": 1, " 7 ": 7, "x": 0, "1.5": 0} {
		if n, err := report.LabelStart(in); n != want || (err == nil) != (want > 0) {
			t.Errorf("start %q: %d, %v", in, n, err)
		}
	}
	// Words far too long for a label stay on it: they get smaller, and nothing panics.
	wordy := label(1)
	wordy.Name = strings.Repeat("Donaudampfschifffahrtsgesellschaft ", 4)
	if err := report.Labels(&bytes.Buffer{}, []report.Label{wordy}, good); err != nil {
		t.Error(err)
	}
}
