package report

import (
	"strings"

	"coldwright/say/plot"
)

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

// keepUnits keeps a number and its unit on one line.
func keepUnits(s string) string {
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
	lines := p.wrap(keepUnits(s), w)
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
