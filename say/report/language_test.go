package report_test

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/fail"
	"coldwright/proof/pulldown"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
)

// english finds words that no Spanish sentence has. Common words of both languages ("a", "no", "me", "sin") are left out.
var english = regexp.MustCompile(
	`(?i)\b(the|of|and|is|was|were|with|from|to|at|in|by|for|not|which|should|where|when|once|each|every|has|have|had|it|its|this|that|are|as|on|or|be|will|below|above|before|after|under|over|within|healthy|read|box|head|suction|glass|line|dew|bubble|machine|leak|charged?|years?|days?|hours?|minutes?|pressure|temperature|set|door|clear|bubbling|yes|none|valve|design|continued|page)\b`,
)

// englishInFrench leaves out what French writes alike as well.
var englishInFrench = regexp.MustCompile(
	`(?i)\b(the|of|and|is|was|were|with|from|to|at|in|by|for|not|which|should|where|when|once|each|every|has|have|had|it|its|this|that|be|will|below|above|before|after|under|over|within|healthy|read|box|head|suction|glass|line|dew|bubble|leak|charged|years?|days?|hours?|pressure|temperature|door|clear|bubbling|yes|none|valve|continued)\b`,
)

// letters makes every letter one that \b of a regular expression takes for one: "pequeñas" has no word "as" in it.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if r > unicode.MaxASCII && unicode.IsLetter(r) {
			return 'x'
		}
		return r
	}, s)
}

// said is every text of a document, what stands in its drawings and their tables among it.
func said(doc report.Document) []string {
	out := append(
		[]string{
			doc.Headline,
			doc.Say("service_report", doc.Number),
			doc.Say("page_of", "1", "2"),
			doc.Say("continued", ""),
			doc.Say("same_as_table"),
			doc.Say("pdf"),
			doc.Say("back_to_visit"),
		},
		doc.Foot...)
	table := func(t figure.Table) {
		out = append(out, t.Head...)
		for _, r := range t.Rows {
			out = append(out, r...)
		}
	}
	section := func(s report.Section) {
		out = append(append(append(out, s.Title), s.Paragraphs...), s.Points...)
	}
	drawing := func(f *report.Figure) {
		if f == nil {
			return
		}
		out = append(out, f.Title, f.Caption, f.Scene.Title, f.Scene.Desc)
		plot.Walk(f.Scene.Items, func(i plot.Item) {
			if t, ok := i.(plot.Text); ok {
				out = append(out, t.S)
			}
		})
		table(f.Table)
	}
	for _, p := range doc.Block {
		out = append(out, p.Name, p.Value)
	}
	for _, s := range doc.Sections {
		section(s)
	}
	for _, t := range doc.Tests {
		section(t.Section)
		drawing(t.Figure)
	}
	drawing(doc.Figure)
	drawing(doc.Pull)
	drawing(doc.Cycle)
	out = append(out, doc.Readings.Title)
	table(doc.Readings.Table)
	if r := doc.Refrigerant; r != nil {
		out = append(out, r.Title, r.Note)
		table(r.Table)
	}
	for _, s := range doc.Signatures {
		out = append(out, s.Label, s.Name)
	}
	return out
}

// noEnglish fails for every text of a document that has an English word in it.
func noEnglish(t *testing.T, doc report.Document) {
	t.Helper()
	words := english
	if doc.Lang == string(text.French) {
		words = englishInFrench
	}
	for _, s := range said(doc) {
		if w := words.FindString(letters(s)); w != "" {
			t.Errorf("%q in %q", w, s)
		}
	}
}

// spanish is a visit whose own words, those that people typed, are Spanish.
func spanish(t testing.TB) report.Data {
	d := visit(t)
	d.Lang, d.Site, d.Customer, d.Machine, d.Mechanic = text.Spanish, "Cocina escolar", "jefa de cocina", "Cámara 1", "Camioneta 7"
	d.Complaint, d.Food, d.MechanicSigned.Name = "Demasiado caliente desde la mañana", "leche y carne trasladadas a las 07:50", "Camioneta 7"
	d.GradeReason, d.PriorSource = "published equation of state", text.Report("rates_source", text.Spanish)
	d.Leaks = []report.Leak{{Place: "línea de líquido en la abrazadera de la pared", How: "detector, luego burbujas"}}
	for i := range d.Work {
		d.Work[i].Text = ""
	}
	d.Work[len(d.Work)-1].Text = "tamaño del evaporador revisado"
	return d
}

// french is the same visit in French.
func french(t testing.TB) report.Data {
	d := spanish(t)
	d.Lang, d.Site, d.Customer, d.Machine, d.Mechanic = text.French, "Cuisine de l'école", "cheffe de cuisine", "Chambre 1", "Fourgon 7"
	d.Complaint, d.Food, d.MechanicSigned.Name = "Trop chaud depuis ce matin", "lait et viande déplacés à 07:50", "Fourgon 7"
	d.PriorSource = text.Report("rates_source", text.French)
	d.Leaks = []report.Leak{{Place: "conduite de liquide au collier du mur", How: "détecteur, puis bulles"}}
	d.Work[len(d.Work)-1].Text = "taille de l'évaporateur relevée"
	return d
}

// The report in French, with its letters (œ, ç, °, «») on paper as on the page.
func TestBuild_French(t *testing.T) {
	d := french(t)
	doc := report.Build(d)
	noEnglish(t, doc)
	all := strings.ReplaceAll(strings.Join(said(doc), "\n"), "\u00a0", " ")
	for _, want := range []string{
		"La chambre froide positive est revenue à température. La machine avait une fuite de frigorigène.",
		"16 juin 2026, 07:40 à 12:20", "Signalé : Trop chaud depuis ce matin.", "Brasure faite, azote circulant.", "Surch. évaporateur",
		"BP, sat.", "Ce que vous devez faire", "autorité sanitaire", "équation d'état publiée",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
	d.Leaks, d.Before.Posterior.Marginals[0].Probability = nil, 0.8
	if doc = report.Build(judged(d, pulldown.Reached)); !strings.Contains(doc.Headline, "la machine avait une fuite") {
		t.Errorf("got %q", doc.Headline)
	}
	noEnglish(t, doc)
}

// The report of a visit that found a leak and repaired it, as a mechanic would write it; dates are written out.
func TestBuild_Spanish(t *testing.T) {
	d := spanish(t)
	doc := report.Build(d)
	noEnglish(t, doc)
	for _, s := range said(report.Build(visit(t))) {
		if strings.HasSuffix(s, ".") && len(strings.Fields(s)) > 3 && !english.MatchString(letters(s)) && !strings.HasPrefix(s, "Größe") {
			t.Errorf("an English sentence would not be seen: %q", s)
		}
	}
	all := strings.Join(said(doc), "\n")
	for _, want := range []string{
		"La cámara de refrigeración está otra vez a su temperatura. La máquina perdió refrigerante por una fuga.",
		"16 de junio de 2026, 07:40 a 12:20", "Aviso del cliente: Demasiado caliente desde la mañana. La cámara estaba a 44 °F; debe " +
			"mantenerse a 36 °F.",
		"Fuga encontrada: línea de líquido en la abrazadera de la pared (detector, luego burbujas).",
		"Se soldó una unión, con flujo de nitrógeno.", "Se cargaron 9 lb 8 oz por peso; la carga completa según la placa es 9 lb 8 oz.",
		"con burbujas", "clara", "Mirilla", "Recal. evaporador", "Subenfriamiento", "Baja, sat.", "Qué debe hacer usted",
		"autoridad sanitaria", "Camioneta 7, 16 de junio de 2026, 12:19", "Entró de más", "ecuación de estado publicada",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
	// Less certain, untouched, unread: every sentence of the customer's part.
	d.Leaks, d.Before.Posterior.Marginals[0].Probability = nil, 0.8
	if doc = report.Build(judged(d, pulldown.Reached)); !strings.Contains(doc.Headline, "Lo más probable: la ") {
		t.Errorf("got %q", doc.Headline)
	}
	noEnglish(t, doc)
	d.Before.Posterior.Marginals[0].Probability = 0.5
	d.After.PullDown = pull(44, 45)
	noEnglish(t, report.Build(judged(d, pulldown.Warming)))
	d.After, d.Work, d.Moves, d.FoodLimit = report.Phase{
		Failed: text.Failed(fail.Of(fail.BadData, "", "blob.hash", nil), text.Spanish),
	}, nil, nil, d.SetPoint
	noEnglish(t, report.Build(judged(d, pulldown.Unknown)))
	noEnglish(t, report.Build(report.Data{Lang: text.Spanish, Display: units.Metric()}))
}

// Paper and page carry the same text in every language, on both papers, and the same bytes when repeated.
func TestPDF_SameTextAsThePage(t *testing.T) {
	squeeze := func(s string) string { return strings.Join(strings.Fields(strings.ReplaceAll(s, "\u00a0", " ")), "") }
	for _, d := range []report.Data{visit(t), spanish(t), french(t)} {
		for _, paper := range []report.Paper{report.A4, report.Letter} {
			d.Paper = paper
			pdf := bytesOf(t, d)
			if !bytes.Equal(pdf, bytesOf(t, d)) {
				t.Errorf("%s %s: other bytes when repeated", d.Lang, paper)
			}
			if dir := os.Getenv("REPORT_PAGE"); dir != "" {
				if err := os.WriteFile(filepath.Join(dir, "report-"+string(d.Lang)+"-"+string(paper)+".pdf"), pdf, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if n := pages(t, pdf); n != 1 {
				t.Errorf("%s %s: %d pages", d.Lang, paper, n)
			}
			// ISO 216: 210 by 297 mm; ANSI Y14.1: 8.5 by 11 inches; in points.
			size := map[report.Paper]string{report.A4: "/MediaBox [0 0 595.28 841.89]", report.Letter: "/MediaBox [0 0 612.00 792.00]"}[paper]
			if !bytes.Contains(pdf, []byte(size)) {
				t.Errorf("%s: no %s", paper, size)
			}
			doc := report.Build(d)
			if !bytes.Contains(pdf, []byte("/Lang")) || doc.Lang != string(d.Lang) && d.Lang != "" {
				t.Errorf("%s: the document does not say its language", d.Lang)
			}
			got := squeeze(words(t, pdf))
			var list []string
			for _, s := range doc.Sections {
				list = append(append(append(list, s.Title), s.Paragraphs...), s.Points...)
			}
			for _, p := range doc.Block {
				list = append(list, p.Name, p.Value)
			}
			for _, tab := range []report.Table{doc.Readings, *doc.Refrigerant} {
				list = append(append(list, tab.Title, tab.Note), tab.Head...)
				for _, r := range tab.Rows {
					list = append(list, r[1:]...)
				}
			}
			for _, s := range doc.Signatures {
				list = append(list, s.Label, s.Name)
			}
			for _, s := range append(append(list, doc.Headline, doc.Figure.Title, doc.Figure.Caption), doc.Foot...) {
				if !strings.Contains(got, squeeze(s)) {
					t.Errorf("%s %s: the PDF does not say %q", d.Lang, paper, s)
				}
			}
		}
	}
}

type seeded struct{ *rand.Rand }

func (s seeded) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(s.Uint32())
	}
	return len(p), nil
}

// Every visit of the demonstration in every other language: no English sentence but what people typed themselves.
func TestFromVisit_DemoInEveryLanguage(t *testing.T) {
	ctx := context.Background()
	now := time.Date(2026, 6, 16, 12, 0, 0, 0, time.UTC)
	a := app.New(
		app.NewMemStore(),
		app.Options{Now: func() time.Time { return now }, Rand: seeded{rand.New(rand.NewPCG(1, 2))}, Version: "0.1", Device: "desk"},
	)
	if err := keep.Demo(ctx, a); err != nil {
		t.Fatal(err)
	}
	list, err := a.Machines(ctx, "", 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, m := range list.Rows {
		h, err := a.Machine(ctx, m.Machine.ID, app.MachineParts{})
		if err != nil {
			t.Fatal(err)
		}
		for _, old := range h.Machine.Visits {
			v, err := a.Visit(ctx, old.ID, report.Needs(units.US(), false))
			if err != nil {
				t.Fatal(err)
			}
			for i, show := range []units.Display{units.US(), units.Metric()} {
				others := text.Languages()[1:]
				d := report.FromVisit(v, show, time.UTC, others[(seen+i)%len(others)])
				d.Site, d.Customer, d.Address, d.Machine, d.Complaint, d.Food, d.Advice, d.Mechanic, d.MechanicSigned.Name,
					d.CustomerSigned.Name = "", "", "", "", "", "", nil, "", "", ""
				for i := range d.Work {
					d.Work[i].Text = ""
				}
				noEnglish(t, report.Build(d))
			}
			seen++
		}
	}
	if seen < 10 {
		t.Errorf("only %d visits", seen)
	}
}
