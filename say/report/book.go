package report

import (
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/rules/ledger"
	"coldwright/say/figure"
	"coldwright/say/text"
	"coldwright/units"
)

// BookData is the refrigerant of one site in one month.
type BookData struct {
	Site, Customer, Address string
	Month                   ledger.Month
}

// BookTable is a table whose first Words columns are words, the others numbers.
type BookTable struct {
	Table
	Words int
}

// Book is a refrigerant month, ready to be printed or shown. All weights are kilograms to the gram.
type Book struct {
	Title, Headline string
	Block           []Pair
	Tables          []BookTable
	Foot            []string
	Signatures      []Signature
	Made            time.Time
	Lang            string
}

// BuildBook makes the document: opening and closing balances and movements, the same numbers as the month's CSV.
//
//   - in: the month with its accounts
//   - out: tables of refrigerants, machines, cylinders, movements; those without rows are left out
//   - source: package ledger
func BuildBook(d BookData) Book {
	m := d.Month
	name := time.Date(m.Year, m.Month, 1, 0, 0, 0, 0, time.UTC).Format("January 2006")
	b := Book{Title: "Refrigerant book, " + name, Headline: d.Site, Lang: "en", Made: time.Date(m.Year, m.Month, 1, 0, 0, 0, 0, time.UTC)}
	if n := len(m.Entries); n > 0 {
		b.Made = m.Entries[n-1].At // the same month is the same document whenever it is printed
	}
	for _, p := range []Pair{{"Customer", d.Customer}, {"Address", d.Address}, {"Month", name}} {
		if p.Value != "" {
			b.Block = append(b.Block, p)
		}
	}
	add := func(title string, words int, head []string, rows [][]string, note string) {
		if len(rows) > 0 {
			b.Tables = append(b.Tables, BookTable{Table{Title: title, Table: figure.Table{Head: head, Rows: rows}, Note: note}, words})
		}
	}
	var rows [][]string
	editions := []string{}
	factor := map[string]ledger.Factor{}
	for _, l := range m.Lines {
		f := l.Factor
		factor[l.Refrigerant] = f
		gwp, held, lost := "not on file", "", ""
		if f.Known {
			gwp, held, lost = plainNumber(f.GWP), co2e(f.CO2e(l.After)), co2e(f.CO2e(l.Lost))
			if s := "GWP over 100 years by " + f.Edition + ": " + f.Cite + "."; !slices.Contains(editions, s) {
				editions = append(editions, s)
			}
		}
		rows = append(rows, []string{l.Refrigerant, kg(l.Before), kg(l.In), kg(l.Out), kg(l.Lost), kg(l.After), gwp, held, lost})
	}
	add(
		"By refrigerant, in the machines of the site",
		1,
		[]string{"Refrigerant", "Opening, kg", "In, kg", "Out, kg", "Lost, kg", "Closing, kg", "GWP", "Closing, kg CO₂e", "Lost, kg CO₂e"},
		rows,
		"",
	)
	var machines, cylinders [][]string
	for _, l := range m.Accounts {
		row := []string{l.Account.Name, l.Refrigerant, kg(l.Before), kg(l.In), kg(l.Out), kg(l.Lost), kg(l.Elsewhere), kg(l.After)}
		if l.Account.Holder == ledger.Machine {
			machines = append(machines, row)
		} else {
			cylinders = append(cylinders, row)
		}
	}
	head := func(first string) []string {
		return []string{first, "Refrigerant", "Opening, kg", "In, kg", "Out, kg", "Lost, kg", "Elsewhere, kg", "Closing, kg"}
	}
	add("By machine", 2, head("Machine"), machines, "")
	add(
		"By cylinder used here this month",
		2,
		head("Cylinder"),
		cylinders,
		"Opening and closing of a cylinder are those of the whole house. Elsewhere: what came less what went by purchase, hand-over, "+
			"weighing or at other sites.",
	)
	rows = nil
	for _, e := range m.Entries {
		c := ""
		if f := factor[e.Refrigerant]; f.Known {
			c = co2e(f.CO2e(e.Grams))
		}
		rows = append(
			rows,
			[]string{
				m.Day(e).String(),
				text.LedgerKind(e.Kind, text.English),
				e.Refrigerant,
				account(e.From),
				account(e.To),
				whole(e.Note),
				kg(e.Grams),
				c,
			},
		)
	}
	add("Movements", 6, []string{"Day", "What", "Refrigerant", "From", "To", "As typed", "kg", "kg CO₂e"}, rows, "")
	if len(rows) == 0 {
		b.Foot = append(b.Foot, "No refrigerant moved at this site in this month.")
	}
	b.Foot = append(b.Foot, editions...)
	b.Foot = append(
		b.Foot,
		"What a visit put in beyond what it took out is booked as lost. Machines begin with the full charge of their plate.",
	)
	b.Signatures = []Signature{{Label: "Kept by, name and date"}, {Label: "Checked by, name and date"}}
	return b
}

// whole keeps a short text on one line.
func whole(s string) string {
	if len(s) > 16 {
		return s
	}
	return strings.ReplaceAll(s, " ", "\u00a0")
}

// kg is a weight to the gram.
func kg(g int64) string {
	s := strconv.FormatFloat(float64(max(g, -g))/units.Kilo, 'f', 3, 64)
	if g < 0 {
		return "−" + s
	}
	return s
}

// co2e is a CO₂ equivalent in kg to the gram.
func co2e(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', 3, 64), "-", "−", 1)
}

func plainNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// account is a holder as a reader calls it.
func account(a ledger.Account) string {
	switch {
	case a.Holder == ledger.Machine:
		return a.Name
	case a.Holder == ledger.Atmosphere:
		return "the air"
	case a.Name != "":
		return string(a.Holder) + " " + a.Name
	}
	return string(a.Holder)
}

// PDF writes the book.
//
//   - in: paper A4 or Letter; empty is A4
//   - out: PDF bytes, the same for the same month
//   - errors: [*fail.Error] when the document cannot be written
func (b Book) PDF(w io.Writer, paper Paper) error {
	if paper == "" {
		paper = A4
	}
	foot := pageFoot{title: b.Title, subject: b.Headline, later: b.Headline, lang: b.Lang, made: b.Made, paper: paper}
	pages := 0
	for range 2 { // the first pass counts the pages, so that each can say "of"
		p := newSheets(foot, Document{}, pages, 1)
		p.book(b)
		if pages > 0 {
			if err := p.pdf.Output(w); err != nil {
				return fail.Of(fail.Internal, "", "book.not_written", fail.Args{"why": err})
			}
		}
		pages = p.pdf.PageCount()
	}
	return nil
}

func (p *printer) book(b Book) {
	w := p.width
	p.y += p.paragraph(b.Title, margin, p.y, w, sizeText, "", 0x22, true)
	p.y += p.paragraph(b.Headline, margin, p.y+0.8, w, sizeTitle, "B", 0, true) + 2
	for _, q := range b.Block {
		p.y += p.paragraph(q.Name+": "+q.Value, margin, p.y, w, sizeText, "", 0, true)
	}
	p.y += 4
	end := p.bottom
	for _, t := range b.Tables {
		p.grid(t, margin, w, end)
		p.y += 5
	}
	tail := func(y float64, draw bool) float64 {
		h := p.paragraph(strings.Join(b.Foot, " "), margin, y, w, sizeSmall, "", 0x22, draw) + 4
		return h + p.signatures(b.Signatures, y+h, draw)
	}
	if p.y+tail(0, false) > end {
		p.newPage()
	}
	tail(p.y, true)
}

// grid writes a table of words and numbers from p.y on, overleaf with its head again where it must.
func (p *printer) grid(t BookTable, x, w, end float64) {
	const gap = 2.5
	cols := len(t.Head)
	var widths []float64
	size := sizeText
	for ; ; size -= 0.3 {
		widths = make([]float64, cols)
		least := make([]float64, cols) // a column of words can wrap down to its longest word
		for r, row := range append([][]string{t.Head}, t.Rows...) {
			p.font("", size, 0)
			for c, s := range row {
				whole, word := p.pdf.GetStringWidth(s), 0.0
				for part := range strings.FieldsFuncSeq(s, breaks) {
					word = max(word, p.pdf.GetStringWidth(part))
				}
				if r > 0 && c >= t.Words {
					word = whole // numbers stay whole, their heads may wrap
				}
				if r == 0 {
					whole = word
				}
				widths[c], least[c] = max(widths[c], whole+gap), max(least[c], word+gap)
			}
		}
		sum, room := 0.0, 0.0
		for c := range widths {
			sum += widths[c]
			room += widths[c] - least[c]
		}
		if over := sum - w; over > 0 && over <= room {
			for c := range widths {
				widths[c] -= over * (widths[c] - least[c]) / room
			}
			break
		} else if over <= 0 {
			widths[0] -= over
			break
		}
		if size < 5.5 {
			for c := range widths {
				widths[c] *= w / sum
			}
			break
		}
	}
	lines := func(row []string) (cells [][]string, h float64) {
		p.font("", size, 0)
		n := 1
		for c, s := range row {
			cells = append(cells, p.wrap(s, widths[c]-gap+0.05))
			n = max(n, len(cells[c]))
		}
		return cells, float64(n)*p.lineHeight(size) + 2*rowPad
	}
	put := func(row []string, grey int) {
		cells, h := lines(row)
		p.font("", size, grey)
		at := x
		for c, list := range cells {
			for i, s := range list {
				left := at
				if c >= t.Words {
					left = at + widths[c] - p.pdf.GetStringWidth(s)
					if c == cols-1 {
						left = x + w - p.pdf.GetStringWidth(s)
					}
				}
				p.pdf.Text(left, p.y+rowPad+float64(i)*p.lineHeight(size)+p.size(size), s)
			}
			at += widths[c]
		}
		p.y += h
	}
	rule := func(weight float64, grey int) {
		p.pdf.SetDrawColor(grey, grey, grey)
		p.pdf.SetLineWidth(weight)
		p.pdf.Line(x, p.y, x+w, p.y)
	}
	title := t.Title
	begin := func() {
		p.y += p.paragraph(title, x, p.y, w, sizeHead, "B", 0, true) + 0.6
		put(t.Head, 0x22)
		rule(0.25, 0)
		title = t.Title + ", continued"
	}
	const least = 26.0
	if p.y+least > end {
		p.newPage()
	}
	begin()
	for i, row := range t.Rows {
		if _, h := lines(row); p.y+h > end {
			p.newPage()
			begin()
		}
		put(row, 0)
		if i < len(t.Rows)-1 {
			rule(0.15, 0x88)
		}
	}
	if t.Note != "" {
		if p.y+8 > end {
			p.newPage()
		}
		p.y += 1 + p.paragraph(t.Note, x, p.y+1, w, sizeSmall, "", 0x22, true)
	}
}
