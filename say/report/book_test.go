package report_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"coldwright/rules/ledger"
	"coldwright/say/report"
)

// bookMonth is an invented month: n movements of two machines and three cylinders.
func bookMonth(t testing.TB, n int) ledger.Month {
	t.Helper()
	at := time.Date(2026, 6, 1, 9, 0, 0, 0, time.UTC)
	cylinder := func(n string) ledger.Account { return ledger.Account{Holder: ledger.Cylinder, Name: n} }
	machine := func(n string) ledger.Account { return ledger.Account{Holder: ledger.Machine, Name: n} }
	supplier, air := ledger.Account{Holder: ledger.Supplier, Name: "Trade counter"}, ledger.Account{Holder: ledger.Atmosphere}
	entries := []ledger.Entry{
		{
			ID:          "o1",
			At:          at.AddDate(0, -3, 0),
			Site:        "s",
			Kind:        ledger.Opening,
			Refrigerant: "R-404A",
			From:        supplier,
			To:          machine("Walk-in freezer behind the kitchen"),
			Grams:       7257,
		},
		{
			ID:          "o2",
			At:          at.AddDate(0, -3, 0),
			Site:        "s",
			Kind:        ledger.Opening,
			Refrigerant: "R-448A",
			From:        supplier,
			To:          machine("Dairy case"),
			Grams:       9979,
		},
		{
			ID:          "b1",
			At:          at.AddDate(0, -2, 0),
			Kind:        ledger.Bought,
			Refrigerant: "R-404A",
			From:        supplier,
			To:          cylinder("404-17"),
			Grams:       10886,
		},
		{
			ID:          "b2",
			At:          at.AddDate(0, 0, 3),
			Kind:        ledger.Bought,
			Refrigerant: "R-448A",
			From:        supplier,
			To:          cylinder("448-03"),
			Grams:       11340,
		},
	}
	for i := range n {
		e := ledger.Entry{
			ID:          fmt.Sprintf("m%03d", i),
			At:          at.AddDate(0, 0, 4).Add(time.Duration(i) * 40 * time.Minute),
			Site:        "s",
			Kind:        ledger.TopUp,
			Refrigerant: "R-404A",
			From:        cylinder("404-17"),
			To:          machine("Walk-in freezer behind the kitchen"),
			Grams:       int64(100 + 7*i),
			Note:        "9 lb 8 oz",
		}
		switch i % 4 {
		case 1:
			e.Refrigerant, e.From, e.To = "R-448A", cylinder("448-03"), machine("Dairy case")
		case 2:
			e.Kind, e.From, e.To = ledger.Loss, machine("Walk-in freezer behind the kitchen"), air
		case 3:
			e.Kind, e.From, e.To = ledger.Recover, machine("Walk-in freezer behind the kitchen"), cylinder("REC-1")
		}
		entries = append(entries, e)
	}
	b, err := ledger.New(entries)
	if err != nil {
		t.Fatal(err)
	}
	m, err := b.Month("s", 2026, time.June, time.UTC, "AR4")
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func book(t testing.TB, n int, paper report.Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	d := report.BookData{Site: "Marsh Lane School", Customer: "Marsh Lane School", Address: "Kitchen, ground floor", Month: bookMonth(t, n)}
	if err := report.BuildBook(d).PDF(&b, paper); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The PDF says the numbers of the CSV, on either paper, over as many pages as it takes; twice the same bytes.
func TestBook(t *testing.T) {
	for _, n := range []int{0, 6, 130} {
		m := bookMonth(t, n)
		var text bytes.Buffer
		if err := m.WriteCSV(&text); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(&text).ReadAll()
		if err != nil || len(rows) != n+1 {
			t.Fatal(len(rows), err)
		}
		// Media boxes in points: ISO 216 A4 210 mm × 297 mm, Letter 8½ in × 11 in.
		for paper, box := range map[report.Paper]string{report.A4: "[0 0 595.28 841.89]", report.Letter: "[0 0 612.00 792.00]"} {
			pdf := book(t, n, paper)
			if !bytes.Equal(pdf, book(t, n, paper)) {
				t.Errorf("%s, %d: not the same twice", paper, n)
			}
			if dir := os.Getenv("COLDWRIGHT_ARTIFACTS"); dir != "" {
				if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("book-%s-%d.pdf", paper, n)), pdf, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			for _, want := range []string{box, "/Lang (en)", "/FontFile2"} {
				if !bytes.Contains(pdf, []byte(want)) {
					t.Errorf("%s, %d: no %s", paper, n, want)
				}
			}
			got := words(t, pdf)
			flat := strings.Join(strings.Fields(got), " ")
			for _, want := range []string{
				"Refrigerant book, June 2026", "Marsh Lane School", "Kept by, name and date",
				fmt.Sprintf("Page %d of %d", pages(t, pdf), pages(t, pdf)),
			} {
				if !strings.Contains(flat, want) {
					t.Errorf("%s, %d: no %q", paper, n, want)
				}
			}
			if n == 0 && !strings.Contains(flat, "No refrigerant moved") {
				t.Errorf("%s: an empty month does not say so", paper)
			}
			for _, r := range rows[1:] {
				g, err := strconv.ParseFloat(r[6], 64)
				if err != nil {
					t.Fatal(err)
				}
				c, err := strconv.ParseFloat(r[7], 64)
				if err != nil {
					t.Fatal(err)
				}
				for _, want := range []string{fmt.Sprintf("%.3f", g/1000), fmt.Sprintf("%.3f", c)} {
					if !regexp.MustCompile(`(^|\s)` + regexp.QuoteMeta(want) + `(\s|$)`).MatchString(got) {
						t.Errorf("%s, %d: %s of %v is not in it", paper, n, want, r)
					}
				}
			}
		}
	}
	if p := pages(t, book(t, 6, report.A4)); p != 1 {
		t.Errorf("a small month takes %d pages", p)
	}
}
