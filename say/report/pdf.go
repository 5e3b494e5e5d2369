package report

import (
	"bytes"
	"cmp"
	"encoding/gob"
	"fmt"
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
	return "", fail.New(fail.BadValue, "paper", "\""+s+"\" is no paper here", "allowed: A4, Letter")
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
		first.all()
		if n := first.pdf.PageCount(); pages == 0 || n == 1 {
			pages, density = n, k
		}
		if pages == 1 {
			break
		}
	}
	p := newPrinter(doc, pages, density)
	p.all()
	if p.err != nil {
		return p.err
	}
	if err := p.pdf.Output(w); err != nil {
		return fail.New(fail.Internal, "", "the report could not be written: "+err.Error(), "")
	}
	return nil
}

type printer struct {
	page
	pdf   *fpdf.Fpdf
	doc   Document
	foot  imprint
	pages int
	k     float64 // all type sizes times this
	y     float64
	dry   bool  // pages are only counted: pictures are left out
	err   error // the first picture that could not be had
	has   map[string]bool
}

// imprint is what a document says of itself. Later stands after the title at the foot of the pages after the first.
type imprint struct {
	title, subject, later, lang string
	made                        time.Time
	paper                       Paper
}

func newPrinter(doc Document, pages int, k float64) *printer {
	return newSheets(imprint{
		title: doc.Say(
			"service_report",
			doc.Number,
		),
		subject: doc.Headline,
		later:   doc.Headline,
		lang:    doc.Lang,
		made:    doc.Made,
		paper:   cmp.Or(doc.Paper, A4),
	}, doc, pages, k)
}

func newSheets(foot imprint, doc Document, pages int, k float64) *printer {
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
	p.turn()
	return p
}

// turn starts a page; every page names the document and its number.
func (p *printer) turn() {
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

func (p *printer) font(style string, size float64, grey int) {
	p.pdf.SetFont(plot.Family, style, size*p.k)
	p.pdf.SetTextColor(grey, grey, grey)
}

// clip shortens a line in the present font.
func (p *printer) clip(s string, w float64) string {
	if p.pdf.GetStringWidth(s) <= w {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && p.pdf.GetStringWidth(string(r)+"…") > w {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ") + "…"
}

// breaks is where a line may break: not at the space that binds a unit to its number.
func breaks(r rune) bool { return r == ' ' || r == '\n' || r == '\t' || r == '\r' }

// wrap breaks a text into lines of the present font; a word wider than the line is cut.
func (p *printer) wrap(s string, w float64) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsFuncSeq(s, breaks) {
		for {
			try := word
			if line != "" {
				try = line + " " + word
			}
			if p.pdf.GetStringWidth(try) <= w {
				line = try
				break
			}
			if line != "" {
				lines, line = append(lines, line), ""
				continue
			}
			r := []rune(word)
			n := len(r)
			for n > 1 && p.pdf.GetStringWidth(string(r[:n])) > w {
				n--
			}
			lines, word = append(lines, string(r[:n])), string(r[n:])
			if word == "" {
				break
			}
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// bind keeps a number and its unit on one line.
func bind(s string) string {
	for _, u := range []string{
		"°F", "°C", "K", "lb", "oz", "kg", "psig", "bar(g)", "kPa(a)", "%", "minutes", "minutos", "micron", "t of",
		"t de",
	} {
		s = strings.ReplaceAll(s, " "+u, "\u00a0"+u)
	}
	return s
}

func (p *printer) lineHeight(size float64) float64 { return p.size(size) * leading }

// size is a type size in millimetres.
func (p *printer) size(size float64) float64 { return size * p.k * ptToMM }

// paragraph writes wrapped text at x and returns the height it took. With draw false it only measures.
func (p *printer) paragraph(s string, x, y, w, size float64, style string, grey int, draw bool) float64 {
	p.font(style, size, grey)
	h := p.lineHeight(size)
	lines := p.wrap(bind(s), w)
	if draw {
		for i, l := range lines {
			p.pdf.Text(x, y+h*float64(i)+p.size(size), l)
		}
	}
	return h * float64(len(lines))
}

// section writes one section and returns its height.
func (p *printer) section(s Section, x, y, w float64, draw bool) float64 {
	h := p.paragraph(s.Title, x, y, w, sizeHead, "B", 0, draw) + 0.6
	for _, t := range s.Paragraphs {
		h += p.paragraph(t, x, y+h, w, sizeText, "", 0, draw) + 0.7
	}
	for _, t := range s.Points {
		if draw {
			p.font("", sizeText, 0)
			p.pdf.Text(x, y+h+p.size(sizeText), "–")
		}
		h += p.paragraph(t, x+4, y+h, w-4, sizeText, "", 0, draw) + 0.7
	}
	return h
}

// picture writes a figure with title and caption, not higher than most; it returns its height.
func (p *printer) picture(f Figure, x, y, w, most float64, draw bool) float64 {
	h := p.paragraph(f.Title, x, y, w, sizeHead, "B", 0, draw) + 1.5
	p.font("", sizeSmall, 0x22)
	caption := p.lineHeight(sizeSmall) * float64(len(p.wrap(bind(f.Caption), w)))
	scale := w / f.Scene.W
	if room := most - h - caption - 1.5; scale*f.Scene.H > room {
		scale = room / f.Scene.H
	}
	if draw {
		plot.Draw(p.pdf, f.Scene, x+(w-scale*f.Scene.W)/2, y+h, scale*f.Scene.W)
	}
	h += scale*f.Scene.H + 1.5
	return h + p.paragraph(f.Caption, x, y+h, w, sizeSmall, "", 0x22, draw)
}

const (
	rowPad     = 0.35
	rowSideGap = 3.0
)

// table writes rows from a first one on, as many as fit above end, and returns the height and the first row left over.
func (p *printer) table(t Table, from int, x, y, w, end float64, draw bool) (h float64, next int) {
	title := t.Title
	if from > 0 {
		title = p.doc.Say("continued", title)
	}
	h = p.paragraph(title, x, y, w, sizeHead, "B", 0, draw) + 0.6
	cols := len(t.Head)
	// Number columns are as wide as their widest cell, but leave the names two fifths; the names get the rest.
	size := sizeText
	widths := make([]float64, cols)
	for {
		sum := 0.0
		for c := 1; c < cols; c++ {
			widths[c] = 0
			for r, row := range append([][]string{t.Head}, t.Rows...) {
				style := ""
				if t.Last && r == len(t.Rows) {
					style = "B"
				}
				p.font(style, size, 0)
				widths[c] = max(widths[c], p.pdf.GetStringWidth(bind(row[c])))
			}
			widths[c] += rowSideGap
			sum += widths[c]
		}
		widths[0] = w - sum
		if widths[0] > 0.34*w || size < 6 {
			break
		}
		size -= 0.4
	}
	line := func(y, weight float64, grey int) {
		if draw {
			p.pdf.SetDrawColor(grey, grey, grey)
			p.pdf.SetLineWidth(weight)
			p.pdf.Line(x, y, x+w, y)
		}
	}
	put := func(cells []string, style string, grey int, at float64) float64 {
		lh := p.lineHeight(size)
		p.font(style, size, grey)
		n := max(1, len(p.wrap(bind(cells[0]), widths[0]-1)))
		p.paragraph(cells[0], x, at+rowPad, widths[0]-1, size, style, grey, draw)
		right := x + widths[0]
		for c := 1; c < cols; c++ {
			right += widths[c]
			if draw {
				p.font(style, size, grey)
				s := bind(cells[c])
				p.pdf.Text(right-p.pdf.GetStringWidth(s), at+rowPad+p.size(size), s)
			}
		}
		return float64(n)*lh + 2*rowPad
	}
	h += put(t.Head, "", 0x22, y+h)
	line(y+h, 0.25, 0)
	noteH := 0.0
	if t.Note != "" {
		p.font("", sizeSmall, 0)
		noteH = 1 + p.lineHeight(sizeSmall)*float64(len(p.wrap(bind(t.Note), w)))
	}
	for i := from; i < len(t.Rows); i++ {
		style := ""
		if t.Last && i == len(t.Rows)-1 {
			style = "B"
		}
		p.font(style, size, 0)
		need := p.lineHeight(size)*float64(max(1, len(p.wrap(bind(t.Rows[i][0]), widths[0]-1)))) + 2*rowPad
		if i == len(t.Rows)-1 {
			need += noteH
		}
		if y+h+need > end {
			return h, i
		}
		h += put(t.Rows[i], style, 0, y+h)
		if i < len(t.Rows)-1 {
			line(y+h, 0.15, 0x88)
		}
	}
	if t.Note != "" {
		h += 1 + p.paragraph(t.Note, x, y+h+1, w, sizeSmall, "", 0x22, draw)
	}
	return h, len(t.Rows)
}

// block writes the title block: ruled cells, two in a row.
func (p *printer) block(x, y, w float64) float64 {
	const pad = 1.6
	half := w / 2
	var heights []float64
	cell := func(q Pair, x, y float64, draw bool) float64 {
		h := p.paragraph(q.Name, x+2, y+pad, half-4, sizeSmall, "", 0x22, draw)
		return h + p.paragraph(q.Value, x+2, y+pad+h, half-4, sizeText, "B", 0, draw) + 2*pad
	}
	total := 0.0
	for i := 0; i < len(p.doc.Block); i += 2 {
		h := 0.0
		for _, q := range p.doc.Block[i:min(i+2, len(p.doc.Block))] {
			h = max(h, cell(q, 0, 0, false))
		}
		heights = append(heights, h)
		total += h
	}
	p.pdf.SetDrawColor(0, 0, 0)
	at := y
	for r, h := range heights {
		for c := 0; c < 2 && 2*r+c < len(p.doc.Block); c++ {
			cell(p.doc.Block[2*r+c], x+half*float64(c), at, true)
		}
		if r > 0 {
			p.pdf.SetLineWidth(0.15)
			p.pdf.Line(x, at, x+w, at)
		}
		at += h
	}
	p.pdf.SetLineWidth(0.15)
	if total > 0 {
		p.pdf.Line(x+half, y, x+half, y+total)
		p.pdf.SetLineWidth(0.45)
		p.pdf.Rect(x, y, w, total, "D")
	}
	return total
}

func (p *printer) all() {
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
			p.turn()
			yl, yr, wide = p.y, p.y, width
		}
		for rest := s; ; {
			var now Section
			now, rest = p.split(rest, wide, bottom-yl)
			yl += p.section(now, left, yl, wide, true) + 2.2
			if len(rest.Points)+len(rest.Paragraphs) == 0 {
				break
			}
			p.turn()
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
	p.kept()
	if p.y+tail > bottom+0.5 {
		p.turn()
	}
	p.tail(p.y, true)
}

// kept writes the notes over the whole width, then the photos, three in a row.
func (p *printer) kept() {
	width, bottom := p.width, p.bottom
	for rest := p.doc.Notes; len(rest.Points) > 0; {
		one := rest
		one.Points = rest.Points[:1]
		if p.y+p.section(one, margin, 0, width, false) > bottom && p.y > margin+2 {
			p.turn()
		}
		var now Section
		now, rest = p.split(rest, width, bottom-p.y)
		p.y += p.section(now, margin, p.y, width, true) + 2.2
	}
	const (
		across = 3
		gap    = 6.0
		most   = 62.0 // height of a photo
	)
	w := (width - (across-1)*gap) / across
	title := p.lineHeight(sizeHead) + 1.5
	for from := 0; from < len(p.doc.Pictures); from += across {
		row := p.doc.Pictures[from:min(from+across, len(p.doc.Pictures))]
		h, words := 0.0, 0.0
		for _, f := range row {
			h = max(h, f.fit(w, most))
			words = max(words, p.words(f, 0, 0, w, false))
		}
		head := 0.0
		if from == 0 {
			head = title
		}
		if p.y+head+h+1+words > bottom && p.y > margin+2 {
			p.turn()
			head = title
		}
		if head > 0 {
			name := p.doc.Say("photos")
			if from > 0 {
				name = p.doc.Say("continued", name)
			}
			p.paragraph(name, margin, p.y, width, sizeHead, "B", 0, true)
			p.y += title
		}
		for i, f := range row {
			x := margin + float64(i)*(w+gap)
			p.place(f, x, p.y, w, most)
			p.words(f, x, p.y+h+1, w, true)
		}
		p.y += h + 1 + words + 3
	}
}

// fit is the height of a picture in a width, not higher than most.
func (f Picture) fit(w, most float64) float64 {
	if f.Width < 1 || f.Height < 1 {
		return 0
	}
	return min(most, w*float64(f.Height)/float64(f.Width))
}

// words writes caption and line under a picture and returns their height.
func (p *printer) words(f Picture, x, y, w float64, draw bool) (h float64) {
	if f.Caption != "" {
		h = p.paragraph(f.Caption, x, y, w, sizeText, "", 0, draw)
	}
	return h + p.paragraph(f.Line, x, y+h, w, sizeSmall, "", 0x22, draw)
}

// place draws a picture; its bytes go into the document as they are kept.
func (p *printer) place(f Picture, x, y, w, most float64) {
	h := f.fit(w, most)
	if p.dry || p.err != nil || h == 0 {
		return
	}
	if len(f.JPEG) == 0 {
		p.err = fail.New(fail.Internal, "", "the report was made without its photos", "")
		return
	}
	o := fpdf.ImageOptions{ImageType: "JPG"}
	if !p.has[f.Hash] {
		info := p.pdf.RegisterImageOptionsReader(f.Hash, o, bytes.NewReader(f.JPEG))
		if err := p.pdf.Error(); err != nil {
			p.err = fail.New(fail.Internal, "", "a photo could not be put into the report: "+err.Error(), "")
			return
		}
		if p.err = inOrder(info, len(p.has)); p.err != nil {
			return
		}
		p.has[f.Hash] = true
	}
	p.pdf.ImageOptions(f.Hash, x, y, h*float64(f.Width)/float64(f.Height), h, false, o, 0, "")
	if err := p.pdf.Error(); err != nil {
		p.err = fail.New(fail.Internal, "", "a photo could not be put into the report: "+err.Error(), "")
	}
}

// inOrder gives a picture its place in the document. The library writes pictures by their width, and those of one
// width as a map happens to give them; so that the same report is the same bytes, each gets a width that is larger by
// a part of a pixel, which is cut off when it is written. The fields are those of its own GobEncode, in their order.
func inOrder(info *fpdf.ImageInfoType, n int) error {
	b, err := info.GobEncode()
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	var (
		data, mask, palette []byte
		object, bits        int
		w, h, scale, dpi    float64
		space, filter, parm string
		clear               []int
	)
	fields := []any{&data, &mask, &object, &w, &h, &space, &palette, &bits, &filter, &parm, &clear, &scale, &dpi}
	in := gob.NewDecoder(bytes.NewReader(b))
	for _, f := range fields {
		if err := in.Decode(f); err != nil {
			return fmt.Errorf("report: %w", err)
		}
	}
	w += float64(n) / 4096
	var out bytes.Buffer
	to := gob.NewEncoder(&out)
	for _, f := range fields {
		if err := to.Encode(f); err != nil {
			return fmt.Errorf("report: %w", err)
		}
	}
	return info.GobDecode(out.Bytes())
}

// split cuts a section so that its first part is not higher than room; at least one point or paragraph stays in it.
func (p *printer) split(s Section, w, room float64) (now, rest Section) {
	now = s
	for p.section(now, 0, 0, w, false) > room && len(now.Paragraphs)+len(now.Points) > 1 {
		if n := len(now.Points); n > 0 {
			now.Points = now.Points[:n-1]
		} else {
			now.Paragraphs = now.Paragraphs[:len(now.Paragraphs)-1]
		}
	}
	title := s.Title
	if again := p.doc.Say("continued", ""); !strings.HasSuffix(title, again) {
		title += again
	}
	rest = Section{s.Key, title, s.Paragraphs[len(now.Paragraphs):], s.Points[len(now.Points):]}
	return now, rest
}

func (p *printer) tableHeight(t Table) float64 {
	if len(t.Rows) == 0 {
		return 0
	}
	h, _ := p.table(t, 0, 0, 0, p.column, 1e9, false)
	return h
}

// rows writes a whole table, going on overleaf where it must, and returns where it ends.
func (p *printer) rows(t Table, x, y, end float64) float64 {
	for from := 0; from < len(t.Rows); {
		const least = 24.0
		if y+least > end {
			p.turn()
			y, end = p.y, p.bottom
		}
		h, next := p.table(t, from, x, y, p.column, end, true)
		y += h
		if from = next; from < len(t.Rows) {
			p.turn()
			y, end = p.y, p.bottom
		}
	}
	return y
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
			if s.Name != "" {
				p.font("", sizeText, 0)
				p.pdf.Text(x+indent, y+top-1.2, p.clip(s.Name, p.column-indent))
			}
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
