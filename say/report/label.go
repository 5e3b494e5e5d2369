package report

import (
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/boombuler/barcode/qr"

	"coldwright/fail"
	"coldwright/say/plot"
)

// Label is what stands on a machine's label. Lines are printed as they are; URL is what the code opens.
type Label struct {
	Name, Site string
	Lines      []string
	ID, URL    string
}

// LabelPaper is a paper with the sheets of labels sold for it.
type LabelPaper struct {
	Key    string  // a4, letter
	W, H   float64 // mm
	Sheets []LabelSheet
}

// LabelSheet is a sheet of equal labels, mm. What the labels leave of the paper is parted evenly on both sides.
type LabelSheet struct {
	Key           string // small, medium, large
	Columns, Rows int
	W, H          float64
	Gap           float64 // between columns
}

// N is how many labels a sheet holds.
func (s LabelSheet) N() int { return s.Columns * s.Rows }

// never is the date of what has none of its own: the first one a PDF reader takes without complaint.
var never = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

const inch = 25.4 // mm, by definition

// LabelPapers lists the papers and their sheets: the usual divisions of the paper into labels, common practice, no source.
func LabelPapers() []LabelPaper {
	return []LabelPaper{
		{"a4", 210, 297, []LabelSheet{{"small", 3, 8, 70, 37, 0}, {"medium", 2, 7, 99.1, 38.1, 2.5}, {"large", 2, 4, 99.1, 67.7, 2.5}}},
		{
			"letter",
			8.5 * inch,
			11 * inch,
			[]LabelSheet{
				{"small", 3, 10, 2.625 * inch, inch, 0.125 * inch},
				{"medium", 2, 5, 4 * inch, 2 * inch, 0.1875 * inch},
				{"large", 2, 3, 4 * inch, 10 * inch / 3, 0.1875 * inch},
			},
		},
	}
}

// LabelOptions say what is printed on: keys of [LabelPapers]; Start is the first free label, counted from 1 along the
// rows; Edges draws the edges of the labels, to cut along on plain paper.
type LabelOptions struct {
	Paper, Size string
	Start       int
	Edges       bool
}

func (o LabelOptions) find() (LabelPaper, LabelSheet, error) {
	papers := LabelPapers()
	i := slices.IndexFunc(papers, func(p LabelPaper) bool { return p.Key == o.Paper })
	if i < 0 {
		return LabelPaper{}, LabelSheet{}, fail.Of(fail.BadValue, "paper", "label.paper", fail.Args{"paper": o.Paper})
	}
	p := papers[i]
	i = slices.IndexFunc(p.Sheets, func(s LabelSheet) bool { return s.Key == o.Size })
	if i < 0 {
		return p, LabelSheet{}, fail.Of(fail.BadValue, "size", "label.size", fail.Args{"size": o.Size})
	}
	s := p.Sheets[i]
	if o.Start < 1 || o.Start > s.N() {
		return p, s, fail.Of(fail.Range, "start", "label.start", fail.Args{"start": o.Start, "count": s.N()})
	}
	return p, s, nil
}

// Labels writes sheets of labels, each with a code that opens its machine's page.
//
//   - in: the labels in the order in which they are printed; what they are printed on
//   - out: PDF bytes, the same for the same labels
//   - errors: [*fail.Error]: unknown paper or size, a start that is not on the sheet, an address too long for a code
//   - source: the code as ISO/IEC 18004 asks: error correction level M, four modules of quiet zone
func Labels(w io.Writer, labels []Label, o LabelOptions) error {
	paper, sheet, err := o.find()
	if err != nil {
		return err
	}
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: paper.W, Ht: paper.H}})
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(never)
	pdf.SetModificationDate(never)
	pdf.SetProducer("Coldwright", true)
	pdf.SetTitle("Labels", true)
	pdf.SetAutoPageBreak(false, 0)
	plot.AddFonts(pdf)
	p := &printer{pdf: pdf, k: 1}
	left := (paper.W - float64(sheet.Columns)*sheet.W - float64(sheet.Columns-1)*sheet.Gap) / 2
	top := (paper.H - float64(sheet.Rows)*sheet.H) / 2
	for i, l := range labels {
		at := (o.Start - 1 + i) % sheet.N()
		if i == 0 || at == 0 {
			pdf.AddPage()
		}
		x, y := left+float64(at%sheet.Columns)*(sheet.W+sheet.Gap), top+float64(at/sheet.Columns)*sheet.H
		if o.Edges {
			pdf.SetDrawColor(0x88, 0x88, 0x88)
			pdf.SetLineWidth(0.1)
			pdf.Rect(x, y, sheet.W, sheet.H, "D")
		}
		if err := p.label(l, x, y, sheet.W, sheet.H); err != nil {
			return err
		}
	}
	if err := pdf.Output(w); err != nil {
		return fail.Of(fail.Internal, "", "label.not_written", fail.Args{"why": err})
	}
	return nil
}

// quiet is the light edge around a code, modules: ISO/IEC 18004.
const quiet = 4

// Code draws a QR code with its quiet zone, one unit to a module. Runs of dark modules are one path, so that no seam shows between them.
//
//   - in: the text, as UTF-8
//   - out: the scene, white around
//   - errors: the text is longer than a code holds
//   - source: ISO/IEC 18004, level M, by a library; the test decodes it with another one
func Code(s string) (plot.Scene, error) {
	c, err := qr.Encode(s, qr.M, qr.Auto)
	if err != nil {
		return plot.Scene{}, fail.Of(fail.Range, "address", "label.address", nil)
	}
	n := c.Bounds().Dx()
	dark := func(x, y int) bool { r, _, _, _ := c.At(x, y).RGBA(); return r < 0x8000 }
	var d []plot.Cmd
	for y := range n {
		for x := 0; x < n; x++ {
			if !dark(x, y) {
				continue
			}
			from := x
			for x < n && dark(x, y) {
				x++
			}
			x0, y0, x1 := float64(from+quiet), float64(y+quiet), float64(x+quiet)
			d = append(d, plot.Polyline([][2]float64{{x0, y0}, {x1, y0}, {x1, y0 + 1}, {x0, y0 + 1}}, true)...)
		}
	}
	size := float64(n + 2*quiet)
	out := plot.Scene{ID: "code", W: size, H: size, Title: "Code that opens " + s}
	out.Add(plot.Path{D: d, Style: plot.Style{Class: "f-ink"}})
	return out, nil
}

// label writes one label: the code left, the words right of it. Type gets smaller until all fits.
func (p *printer) label(l Label, x, y, w, h float64) error {
	code, err := Code(l.URL)
	if err != nil {
		return err
	}
	// What the printer leaves white at an edge and what a sheet is shifted by: 2 mm of each label stay free, and the
	// quiet zone is free anyway.
	const free = 2.0
	side := min(h-2*free, 0.46*w, 42)
	plot.Draw(p.pdf, code, x+free, y+(h-side)/2, side)
	tx, tw := x+free+side+0.5, w-2*free-side-0.5
	all := func(at float64, show bool) float64 {
		from := at
		put := func(s string, size float64, style string) {
			if s != "" {
				at += p.paragraph(s, tx, y+at, tw, size, style, 0, show) + 0.3
			}
		}
		put(l.Name, 12, "B")
		put(l.Site, 9, "")
		for _, s := range l.Lines {
			put(s, 9.5, "")
		}
		put(l.ID, 8, "")
		return at - from
	}
	for p.k = max(1, min(1.5, h/38)); p.k > 0.5 && all(0, false) > h-2*free; p.k -= 0.06 {
	}
	all(max(free, (h-all(0, false))/2), true)
	p.k = 1
	return nil
}

// LabelStart reads the first free label; empty is the first.
func LabelStart(s string) (int, error) {
	if s = strings.TrimSpace(s); s == "" {
		return 1, nil
	}
	n, err := strconv.Atoi(s)
	if err != nil {
		return 0, fail.Of(fail.BadValue, "start", "label.start_typed", fail.Args{"text": s})
	}
	return n, nil
}
