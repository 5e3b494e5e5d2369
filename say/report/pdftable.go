package report

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
				widths[c] = max(widths[c], p.pdf.GetStringWidth(keepUnits(row[c])))
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
		n := max(1, len(p.wrap(keepUnits(cells[0]), widths[0]-1)))
		p.paragraph(cells[0], x, at+rowPad, widths[0]-1, size, style, grey, draw)
		right := x + widths[0]
		for c := 1; c < cols; c++ {
			right += widths[c]
			if draw {
				p.font(style, size, grey)
				s := keepUnits(cells[c])
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
		noteH = 1 + p.lineHeight(sizeSmall)*float64(len(p.wrap(keepUnits(t.Note), w)))
	}
	for i := from; i < len(t.Rows); i++ {
		style := ""
		if t.Last && i == len(t.Rows)-1 {
			style = "B"
		}
		p.font(style, size, 0)
		need := p.lineHeight(size)*float64(max(1, len(p.wrap(keepUnits(t.Rows[i][0]), widths[0]-1)))) + 2*rowPad
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
			p.newPage()
			y, end = p.y, p.bottom
		}
		h, next := p.table(t, from, x, y, p.column, end, true)
		y += h
		if from = next; from < len(t.Rows) {
			p.newPage()
			y, end = p.y, p.bottom
		}
	}
	return y
}
