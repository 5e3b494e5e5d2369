package report

import (
	"bytes"
	"encoding/gob"
	"fmt"

	"codeberg.org/go-pdf/fpdf"

	"coldwright/fail"
	"coldwright/say/plot"
)

// picture writes a figure with title and caption, not higher than most; it returns its height.
func (p *printer) picture(f Figure, x, y, w, most float64, draw bool) float64 {
	h := p.paragraph(f.Title, x, y, w, sizeHead, "B", 0, draw) + 1.5
	p.font("", sizeSmall, 0x22)
	caption := p.lineHeight(sizeSmall) * float64(len(p.wrap(keepUnits(f.Caption), w)))
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

// notesAndPhotos writes the notes over the whole width, then the photos, three in a row.
func (p *printer) notesAndPhotos() {
	width, bottom := p.width, p.bottom
	for rest := p.doc.Notes; len(rest.Points) > 0; {
		one := rest
		one.Points = rest.Points[:1]
		if p.y+p.section(one, margin, 0, width, false) > bottom && p.y > margin+2 {
			p.newPage()
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
			p.newPage()
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
		p.err = fail.Of(fail.Internal, "", "report.no_photos", nil)
		return
	}
	o := fpdf.ImageOptions{ImageType: "JPG"}
	if !p.has[f.Hash] {
		info := p.pdf.RegisterImageOptionsReader(f.Hash, o, bytes.NewReader(f.JPEG))
		if err := p.pdf.Error(); err != nil {
			p.err = fail.Of(fail.Internal, "", "report.photo", fail.Args{"why": err})
			return
		}
		if p.err = inOrder(info, len(p.has)); p.err != nil {
			return
		}
		p.has[f.Hash] = true
	}
	p.pdf.ImageOptions(f.Hash, x, y, h*float64(f.Width)/float64(f.Height), h, false, o, 0, "")
	if err := p.pdf.Error(); err != nil {
		p.err = fail.Of(fail.Internal, "", "report.photo", fail.Args{"why": err})
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
