package report

import (
	"cmp"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"coldwright/fail"
	"coldwright/say/plot"
	"coldwright/say/text"
)

// Page geometry in millimetres, with the margins of the print style.
const (
	margin  = 15.0
	gutter  = 8.0
	ptToMM  = 25.4 / 72
	leading = 1.32
)

// Paper is what a report is printed on.
type Paper string

// The papers; "" is A4.
const (
	A4     Paper = "A4"
	Letter Paper = "Letter"
)

// ParsePaper reads "A4" or "Letter"; empty is A4.
func ParsePaper(s string) (Paper, error) {
	for _, p := range []Paper{A4, Letter} {
		if strings.EqualFold(s, string(p)) {
			return p, nil
		}
	}
	if s == "" {
		return A4, nil
	}
	return "", fail.Of(fail.BadValue, "paper", "report.paper", fail.Args{"text": s})
}

// page is the geometry of one paper in millimetres.
type page struct{ pageW, pageH, bottom, width, column float64 }

// geometry of A4 (ISO 216) or Letter (ANSI/ASME Y14.1, 8.5 by 11 inches).
func geometry(p Paper) page {
	w, h := 210.0, 297.0
	if p == Letter {
		w, h = 215.9, 279.4
	}
	return page{w, h, h - 16, w - 2*margin, (w - 2*margin - gutter) / 2}
}

// Type sizes in points.
const (
	sizeText  = 9.2
	sizeSmall = 7.8
	sizeHead  = 10.8
	sizeTitle = 15.5
)

// PDF writes the report of a visit on A4 or Letter.
//
//   - in: the facts of the visit
//   - out: PDF bytes, the same for the same facts
//   - errors: [*fail.Error] when the document cannot be written
func PDF(w io.Writer, d Data) error { return Build(d).PDF(w) }

// PDF writes the document.
func (doc Document) PDF(w io.Writer) error {
	// Set a little smaller if that saves the second page; twice, since the first pass counts the pages so that each can say "of".
	pages, density := 0, 1.0
	for _, k := range []float64{1, 0.94, 0.88} {
		first := newPrinter(doc, 0, k)
		first.dry = true
		first.document()
		if n := first.pdf.PageCount(); pages == 0 || n == 1 {
			pages, density = n, k
		}
		if pages == 1 {
			break
		}
	}
	p := newPrinter(doc, pages, density)
	p.document()
	if p.err != nil {
		return p.err
	}
	if err := p.pdf.Output(w); err != nil {
		return fail.Of(fail.Internal, "", "report.not_written", fail.Args{"why": err})
	}
	return nil
}

type printer struct {
	page
	pdf   *fpdf.Fpdf
	doc   Document
	foot  pageFoot
	pages int
	k     float64 // all type sizes times this
	y     float64
	dry   bool  // pages are only counted: pictures are left out
	err   error // the first picture that could not be had
	has   map[string]bool
}

// pageFoot is what a document says of itself. Later stands after the title at the foot of the pages after the first.
type pageFoot struct {
	title, subject, later, lang string
	made                        time.Time
	paper                       Paper
}

func newPrinter(doc Document, pages int, k float64) *printer {
	return newSheets(pageFoot{
		title:   doc.Say("service_report", doc.Number),
		subject: doc.Headline,
		later:   doc.Headline,
		lang:    doc.Lang,
		made:    doc.Made,
		paper:   cmp.Or(doc.Paper, A4),
	}, doc, pages, k)
}

func newSheets(foot pageFoot, doc Document, pages int, k float64) *printer {
	pdf := fpdf.New("P", "mm", string(foot.paper), "")
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(foot.made.UTC())
	pdf.SetModificationDate(foot.made.UTC())
	pdf.SetProducer("Coldwright", true)
	pdf.SetTitle(foot.title, true)
	pdf.SetSubject(foot.subject, true)
	pdf.SetLang(foot.lang)
	pdf.SetMargins(margin, margin, margin)
	pdf.SetAutoPageBreak(false, 0)
	plot.AddFonts(pdf)
	p := &printer{page: geometry(foot.paper), pdf: pdf, doc: doc, foot: foot, pages: pages, k: k, has: map[string]bool{}}
	p.newPage()
	return p
}

// newPage starts a page; every page names the document and its number.
func (p *printer) newPage() {
	p.pdf.AddPage()
	p.y = margin
	p.font("", sizeSmall, 0x22)
	left := p.foot.title
	if p.pdf.PageNo() > 1 && p.foot.later != "" {
		left += ", " + p.foot.later
	}
	p.pdf.Text(margin, p.pageH-8, p.clip(left, p.width-30))
	right := text.Report("page_of", text.Language(p.foot.lang), strconv.Itoa(p.pdf.PageNo()), strconv.Itoa(p.pages))
	p.pdf.Text(p.pageW-margin-p.pdf.GetStringWidth(right), p.pageH-8, right)
	if p.pdf.PageNo() > 1 {
		p.y += 2
	}
}

// document lays the whole document out.
func (p *printer) document() {
	width, column, bottom := p.width, p.column, p.bottom
	left, right := margin, margin+column+gutter
	doc := p.doc

	// Head: the finding left, the title block right.
	const blockW = 72.0
	h := p.paragraph(doc.Say("service_report", doc.Number), left, p.y, width-blockW-gutter, sizeText, "", 0x22, true)
	h += p.paragraph(doc.Headline, left, p.y+h+0.8, width-blockW-gutter, sizeTitle, "B", 0, true) + 0.8
	p.y += max(h, p.block(p.pageW-margin-blockW, p.y, blockW)) + 5

	// Foot matter is kept together at the end; what it needs is known beforehand.
	tail := p.tail(0, false)

	// Left the words, then the readings; right the proof, then the refrigerant and the pull-down.
	yl, yr := p.y, p.y
	if doc.Figure != nil {
		yr += p.picture(*doc.Figure, right, p.y, column, min(bottom-p.y, 136*p.k*p.pageH/297), true) + 3
	}
	wide := column
	if doc.Figure == nil {
		wide = width
	}
	sections := slices.Clone(doc.Sections)
	for _, t := range doc.Tests {
		sections = append(sections, t.Section)
	}
	for _, s := range sections {
		h := p.section(s, left, yl, wide, false)
		if yl+h > bottom && yl > p.y {
			// Overleaf the words take the whole width: nothing stands beside them.
			p.newPage()
			yl, yr, wide = p.y, p.y, width
		}
		for rest := s; ; {
			var now Section
			now, rest = p.split(rest, wide, bottom-yl)
			yl += p.section(now, left, yl, wide, true) + 2.2
			if len(rest.Points)+len(rest.Paragraphs) == 0 {
				break
			}
			p.newPage()
			yl, yr = p.y, p.y
		}
	}
	if wide == width {
		yr = max(yl, yr)
	}
	// The readings go under the shorter column, the refrigerant under the other; the foot stays on this page if all fits above it.
	long, short := &yl, &yr
	longX, shortX := left, right
	if wide == width || yl < yr {
		long, short, longX, shortX = short, long, shortX, longX
	}
	var moved Table
	if doc.Refrigerant != nil {
		moved = *doc.Refrigerant
	}
	end := bottom
	if *short+p.tableHeight(doc.Readings) <= bottom-tail-3 && *long+p.tableHeight(moved) <= bottom-tail-3 {
		end = bottom - tail - 3
	}
	page := p.pdf.PageNo()
	*short = p.rows(doc.Readings, shortX, *short, end) + 3
	if p.pdf.PageNo() > page {
		*long, end = p.y, bottom
	}
	page = p.pdf.PageNo()
	*long = p.rows(moved, longX, *long, end) + 3
	if p.pdf.PageNo() > page {
		*short, end = p.y, bottom
	}
	// The curve is drawn where there is room for it; its ends stand in the words in any case. So is the cycle, whose
	// readings stand in their table.
	type drawn struct {
		figure *Figure
		least  float64
	}
	list := []drawn{{doc.Pull, 44}}
	for _, t := range doc.Tests {
		list = append(list, drawn{t.Figure, 44})
	}
	for _, f := range append(list, drawn{doc.Cycle, 70}) {
		if f.figure == nil {
			continue
		}
		at, x := long, longX
		if end-*short > end-*long {
			at, x = short, shortX
		}
		if end-*at >= f.least {
			*at += p.picture(*f.figure, x, *at, column, end-*at, true) + 3
		}
	}
	p.y = max(yl, yr) + 3
	p.notesAndPhotos()
	if p.y+tail > bottom+0.5 {
		p.newPage()
	}
	p.tail(p.y, true)
}

// tail writes signatures and foot and returns their height.
func (p *printer) tail(y float64, draw bool) float64 {
	h := p.signatures(p.doc.Signatures, y, draw) + 2.5
	if len(p.doc.Foot) > 0 {
		h += p.paragraph(strings.Join(p.doc.Foot, " "), margin, y+h, p.width, sizeSmall, "", 0x22, draw)
	}
	return h
}

// signatures writes lines to sign on, side by side, and returns their height. A drawing stands on the line, the name beside it.
func (p *printer) signatures(list []Signature, y float64, draw bool) float64 {
	const line, drawing = 11.0, 13.0
	top := line
	for _, s := range list {
		if s.Drawing != nil {
			top = drawing
		}
	}
	below := 0.0
	for i, s := range list {
		x := margin + float64(i)*(p.column+gutter)
		if draw {
			indent := 0.0
			if s.Drawing != nil {
				w := drawing * s.Drawing.W / s.Drawing.H
				plot.Draw(p.pdf, *s.Drawing, x, y, w)
				indent = w + 2
			}
			p.pdf.SetDrawColor(0, 0, 0)
			p.pdf.SetLineWidth(0.35)
			p.pdf.Line(x, y+top, x+p.column, y+top)
			p.signedBy(s.Name, x+indent, y+top-1.2, p.column-indent)
		}
		h := 0.6
		for _, t := range []struct{ text, style string }{{s.Label, ""}, {s.Notes, ""}, {s.Changed, "B"}} {
			if t.text == "" {
				continue
			}
			if draw {
				p.font(t.style, sizeSmall, 0)
				p.pdf.Text(x, y+top+h+p.size(sizeSmall), p.clip(t.text, p.column))
			}
			h += p.lineHeight(sizeSmall)
		}
		below = max(below, h)
	}
	return top + below
}

// signedBy writes a name with its time above a signature's line: on one line where it fits, else the name above its
// time, each smaller until it fits. Nothing of it is cut: who signed when is what the paper is for.
func (p *printer) signedBy(name string, x, y, w float64) {
	p.font("", sizeText, 0)
	if p.pdf.GetStringWidth(name) <= w {
		p.pdf.Text(x, y, name)
		return
	}
	lines := []string{name}
	// The time is the last two parts, "30 November 2026, 15:45"; a name may hold a comma too.
	if parts := strings.Split(name, ", "); len(parts) > 2 {
		n := len(parts) - 2
		lines = []string{strings.Join(parts[:n], ", "), strings.Join(parts[n:], ", ")}
	}
	for i, line := range lines {
		size := float64(sizeSmall)
		for p.font("", size, 0); size > 4 && p.pdf.GetStringWidth(line) > w; p.font("", size, 0) {
			size -= 0.25
		}
		p.pdf.Text(x, y-float64(len(lines)-1-i)*p.lineHeight(sizeSmall), line)
	}
}
