package ledger

import (
	"encoding/csv"
	"errors"
	"io"
	"strconv"
	"strings"
	"time"

	"coldwright/refrigerant/data"
	"coldwright/units"
)

// Factor is a warming potential with the edition it comes from; Known is false when none is on file.
type Factor struct {
	GWP      float64 `json:"gwp100"`
	Edition  string  `json:"edition"`
	Cite     string  `json:"cite"`
	Evidence string  `json:"evidence"`
	Mixed    bool    `json:"mixed"` // weighed from the components of a blend that is not on file itself
	Known    bool    `json:"-"`
}

// Potential returns the GWP-100 of a refrigerant in an edition: "AR4", "EU 2024/573", "AR5" or "AR6". A blend that is not on file is weighed by mass from
// its components, when all of them are.
//
//		GWP = Σ w_i GWP_i
//
//	  - errors: the data do not load; a refrigerant or edition that is not on file is no error, Known is then false
//	  - source: package refrigerant/data, gwp.json; mixtures: Regulation (EU) 2024/573 annex VI (read)
func Potential(refrigerant, edition string) (Factor, error) {
	f, err := onFile(refrigerant, edition)
	if err != nil || f.Known {
		return f, err
	}
	b, err := data.LoadBlend(refrigerant)
	if errors.Is(err, data.ErrAbsent) {
		return f, nil
	}
	if err != nil {
		return f, err
	}
	mixed := Factor{Edition: edition, Mixed: true, Known: true}
	for _, c := range b.Components {
		p, err := onFile(c.Designation, edition)
		if err != nil || !p.Known {
			return f, err
		}
		mixed.GWP += c.Mass * p.GWP
		mixed.Cite, mixed.Evidence = p.Cite, p.Evidence
	}
	return mixed, nil
}

func onFile(refrigerant, edition string) (Factor, error) {
	rows, src, err := data.GWPs(refrigerant)
	if err != nil {
		return Factor{}, err
	}
	for _, g := range rows {
		if g.Edition == edition {
			return Factor{GWP: g.Value, Edition: edition, Cite: src[edition].Cite, Evidence: src[edition].Evidence, Known: true}, nil
		}
	}
	return Factor{Edition: edition}, nil
}

// CO2e returns the CO₂ equivalent of a mass in kg.
func (f Factor) CO2e(grams int64) float64 { return float64(grams) * f.GWP / units.Kilo }

// Line is one refrigerant in a month at a site, grams.
type Line struct {
	Refrigerant string `json:"refrigerant"`
	Before      int64  `json:"before"` // in the site's machines when the month began
	In          int64  `json:"in"`     // charged, topped up, came with a machine
	Out         int64  `json:"out"`    // recovered
	Lost        int64  `json:"lost"`
	After       int64  `json:"after"` // before + in − out − lost
	Factor      Factor `json:"factor"`
}

// Month is the book of one site in one month.
type Month struct {
	Site    string
	Year    int
	Month   time.Month
	Entries []Entry // those that hold, in order
	Lines   []Line
	zone    *time.Location
}

// Month returns a site's book.
//
//   - in: site id; the month as the site's clock shows it (zone nil: UTC); GWP edition for the CO₂ equivalents
//   - out: entries that hold and one line per refrigerant that the site's machines hold or moved
//   - errors: the GWP data do not load
//   - source: definition
func (b *Book) Month(site string, year int, month time.Month, zone *time.Location, edition string) (Month, error) {
	if zone == nil {
		zone = time.UTC
	}
	start := time.Date(year, month, 1, 0, 0, 0, 0, zone)
	end := time.Date(year, month+1, 1, 0, 0, 0, 0, zone)
	m := Month{Site: site, Year: year, Month: month, zone: zone}
	at := map[string]int{}
	for _, e := range b.Entries() {
		if e.Site != site || !e.At.Before(end) {
			continue
		}
		i, ok := at[e.Refrigerant]
		if !ok {
			i = len(m.Lines)
			at[e.Refrigerant] = i
			f, err := Potential(e.Refrigerant, edition)
			if err != nil {
				return Month{}, err
			}
			m.Lines = append(m.Lines, Line{Refrigerant: e.Refrigerant, Factor: f})
		}
		l := &m.Lines[i]
		before := e.At.Before(start)
		if !before {
			m.Entries = append(m.Entries, e)
		}
		if e.To.Holder == Machine {
			l.After += e.Grams
			if before {
				l.Before += e.Grams
			} else {
				l.In += e.Grams
			}
		}
		if e.From.Holder == Machine {
			l.After -= e.Grams
			switch {
			case before:
				l.Before -= e.Grams
			case e.To.Holder == Atmosphere:
				l.Lost += e.Grams
			default:
				l.Out += e.Grams
			}
		}
	}
	return m, nil
}

// WriteCSV writes the month's entries, one a row, with the CO₂ equivalent by the month's edition; a factor that is not on file leaves its cells empty.
//
//   - out: columns date, entry, kind, refrigerant, from, to, grams, co2e_kg, gwp_edition, corrects, note
//   - source: definition
func (m Month) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	rows := [][]string{{"date", "entry", "kind", "refrigerant", "from", "to", "grams", "co2e_kg", "gwp_edition", "corrects", "note"}}
	for _, e := range m.Entries {
		var f Factor
		for _, l := range m.Lines {
			if l.Refrigerant == e.Refrigerant {
				f = l.Factor
			}
		}
		co2e, edition := f.cells(e.Grams)
		rows = append(rows, []string{
			On(e.At, m.zone).String(), plain(e.ID), string(e.Kind), plain(e.Refrigerant), plain(e.From.String()), plain(e.To.String()),
			strconv.FormatInt(e.Grams, 10), co2e, edition, plain(e.Corrects), plain(e.Note),
		})
	}
	return c.WriteAll(rows)
}

// WriteLines writes the month's sums, one refrigerant a row.
//
//   - out: columns refrigerant, before_g, in_g, out_g, lost_g, after_g, lost_co2e_kg, gwp_edition
//   - source: definition
func (m Month) WriteLines(w io.Writer) error {
	c := csv.NewWriter(w)
	rows := [][]string{{"refrigerant", "before_g", "in_g", "out_g", "lost_g", "after_g", "lost_co2e_kg", "gwp_edition"}}
	for _, l := range m.Lines {
		row := []string{plain(l.Refrigerant)}
		for _, g := range []int64{l.Before, l.In, l.Out, l.Lost, l.After} {
			row = append(row, strconv.FormatInt(g, 10))
		}
		co2e, edition := l.Factor.cells(l.Lost)
		rows = append(rows, append(row, co2e, edition))
	}
	return c.WriteAll(rows)
}

func (f Factor) cells(grams int64) (co2e, edition string) {
	if !f.Known {
		return "", ""
	}
	return strconv.FormatFloat(f.CO2e(grams), 'f', -1, 64), f.Edition
}

// plain keeps a spreadsheet from taking typed text for a formula.
func plain(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
