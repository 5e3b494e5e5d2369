package ledger

import (
	"cmp"
	"encoding/csv"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"coldwright/refrigerant"
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

// Potential returns the GWP-100 of a refrigerant in an edition: "AR4", "EU 2024/573", "AR5" or "AR6". A blend that is
// not on file is weighed by mass from its components, when all of them are.
//
//		GWP = Σ w_i GWP_i
//
//	  - errors: the data do not load; a refrigerant or edition that is not on file is no error, Known is then false
//	  - source: [refrigerant.Potentials]; mixtures: Regulation (EU) 2024/573 annex VI (read)
func Potential(designation, edition string) (Factor, error) {
	f, err := onFile(designation, edition)
	if err != nil || f.Known {
		return f, err
	}
	parts, err := refrigerant.BlendOf(designation)
	if err != nil || parts == nil {
		return f, err
	}
	mixed := Factor{Edition: edition, Mixed: true, Known: true}
	for _, c := range parts {
		p, err := onFile(c.Designation, edition)
		if err != nil || !p.Known {
			return f, err
		}
		mixed.GWP += c.MassFraction * p.GWP
		mixed.Cite, mixed.Evidence = p.Cite, p.Evidence
	}
	return mixed, nil
}

func onFile(designation, edition string) (Factor, error) {
	rows, err := refrigerant.Potentials(designation)
	if err != nil {
		return Factor{}, err
	}
	for _, g := range rows {
		if g.Edition == edition {
			return Factor{GWP: g.Value, Edition: edition, Cite: g.Source, Evidence: g.Evidence, Known: true}, nil
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
	// Accounts are the site's machines that ever held or moved refrigerant, then the cylinders that its entries of the month touched.
	Accounts []AccountLine
	zone     *time.Location
}

// AccountLine is a machine or a cylinder in a month, grams: after = before + in − out − lost + elsewhere.
type AccountLine struct {
	Account     Account `json:"account"`
	Refrigerant string  `json:"refrigerant"`
	Before      int64   `json:"before"`
	In          int64   `json:"in"`        // by the site's entries
	Out         int64   `json:"out"`       // by the site's entries
	Lost        int64   `json:"lost"`      // by the site's entries, to the air
	Elsewhere   int64   `json:"elsewhere"` // what came less what went otherwise: bought, sent away, weighed, at other sites
	After       int64   `json:"after"`
}

// Day is the calendar day of an entry by the site's clock.
func (m Month) Day(e Entry) Date { return On(e.At, m.zone) }

// accounts follows the machines and cylinders of a site's month.
func (b *Book) accounts(site string, start, end time.Time) []AccountLine {
	ours := map[place]bool{}
	for _, e := range b.held {
		if e.Site != site || !e.At.Before(end) {
			continue
		}
		for _, a := range []Account{e.From, e.To} {
			if a.Holder == Machine || a.Holder == Cylinder && !e.At.Before(start) {
				ours[place{a, e.Refrigerant}] = true
			}
		}
	}
	lines := map[place]*AccountLine{}
	for p := range ours {
		lines[p] = &AccountLine{Account: p.a, Refrigerant: p.r}
	}
	for _, e := range b.held {
		if !e.At.Before(end) {
			continue
		}
		if l := lines[place{e.To, e.Refrigerant}]; l != nil {
			l.After += e.Grams
			switch {
			case e.At.Before(start):
				l.Before += e.Grams
			case e.Site == site:
				l.In += e.Grams
			default:
				l.Elsewhere += e.Grams
			}
		}
		if l := lines[place{e.From, e.Refrigerant}]; l != nil {
			l.After -= e.Grams
			switch {
			case e.At.Before(start):
				l.Before -= e.Grams
			case e.Site != site:
				l.Elsewhere -= e.Grams
			case e.To.Holder == Atmosphere:
				l.Lost += e.Grams
			default:
				l.Out += e.Grams
			}
		}
	}
	out := make([]AccountLine, 0, len(lines))
	for _, l := range lines {
		out = append(out, *l)
	}
	slices.SortFunc(out, func(x, y AccountLine) int {
		// Machines before cylinders.
		return cmp.Or(
			cmp.Compare(y.Account.Holder, x.Account.Holder),
			cmp.Compare(x.Account.Name, y.Account.Name),
			cmp.Compare(x.Refrigerant, y.Refrigerant),
		)
	})
	return out
}

// Month returns a site's book.
//
//   - in: site id; the month as the site's clock shows it (zone nil: UTC); GWP edition for the CO₂ equivalents
//   - out: entries that hold, one line per refrigerant that the site's machines hold or moved, and one per machine and cylinder
//   - errors: the GWP data do not load
//   - source: definition
func (b *Book) Month(site string, year int, month time.Month, zone *time.Location, edition string) (Month, error) {
	if zone == nil {
		zone = time.UTC
	}
	start := time.Date(year, month, 1, 0, 0, 0, 0, zone)
	end := time.Date(year, month+1, 1, 0, 0, 0, 0, zone)
	m := Month{Site: site, Year: year, Month: month, Accounts: b.accounts(site, start, end), zone: zone}
	at := map[string]int{}
	for _, e := range b.held {
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

// WriteCSV writes the month's entries, one a row, with the CO₂ equivalent by the month's edition; a factor that is
// not on file leaves its cells empty.
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

// WriteAccounts writes the month's machines and cylinders, one a row.
//
//   - out: columns holder, name, refrigerant, before_g, in_g, out_g, lost_g, elsewhere_g, after_g
//   - source: definition
func (m Month) WriteAccounts(w io.Writer) error {
	c := csv.NewWriter(w)
	rows := [][]string{{"holder", "name", "refrigerant", "before_g", "in_g", "out_g", "lost_g", "elsewhere_g", "after_g"}}
	for _, l := range m.Accounts {
		row := []string{string(l.Account.Holder), plain(l.Account.Name), plain(l.Refrigerant)}
		for _, g := range []int64{l.Before, l.In, l.Out, l.Lost, l.Elsewhere, l.After} {
			row = append(row, strconv.FormatInt(g, 10))
		}
		rows = append(rows, row)
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
