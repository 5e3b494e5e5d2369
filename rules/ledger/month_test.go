package ledger

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Identity: a month begins with what the one before ended with, and the months of all sites together are the machines' balances.
func TestMonth_Chain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, err := New(draw(t))
		if err != nil {
			t.Fatal(err)
		}
		machines := map[string]int64{}
		for _, site := range []string{"s1", "s2"} {
			held := map[string]int64{}
			for month := time.March; month <= time.May; month++ {
				m, err := b.Month(site, 2026, month, nil, "EU 2024/573")
				if err != nil {
					t.Fatal(err)
				}
				for _, l := range m.Lines {
					if l.Before != held[l.Refrigerant] || l.After != l.Before+l.In-l.Out-l.Lost {
						t.Fatalf("%s %v: %+v after %d", site, month, l, held[l.Refrigerant])
					}
					held[l.Refrigerant] = l.After
				}
			}
			for gas, g := range held {
				machines[gas] += g
			}
		}
		for _, x := range b.Totals() {
			if machines[x.Refrigerant] != x.InMachines {
				t.Fatalf("%s: the months say %d g, the book %d g", x.Refrigerant, machines[x.Refrigerant], x.InMachines)
			}
		}
	})
}

// Identity: every account of a month closes, a machine's month begins with what the one before ended with, and the
// accounts of the site's machines add up to its lines.
func TestMonth_Accounts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, err := New(draw(t))
		if err != nil {
			t.Fatal(err)
		}
		// A machine that two sites book has what the other moved under "elsewhere".
		for _, site := range []string{"s1", "s2"} {
			held := map[place]int64{}
			for month := time.March; month <= time.May; month++ {
				m, err := b.Month(site, 2026, month, nil, "AR4")
				if err != nil {
					t.Fatal(err)
				}
				in, out, lost := map[string]int64{}, map[string]int64{}, map[string]int64{}
				for _, x := range m.Accounts {
					p := place{x.Account, x.Refrigerant}
					if x.After != x.Before+x.In-x.Out-x.Lost+x.Elsewhere {
						t.Fatalf("%+v does not close", x)
					}
					if was, ok := held[p]; ok && was != x.Before {
						t.Fatalf("%s %v: %+v begins with %d, the month before ended with %d", site, month, x, x.Before, was)
					}
					end := time.Date(2026, month+1, 1, 0, 0, 0, 0, time.UTC).Add(-1)
					for _, y := range b.Balances(end) {
						if y.Account == x.Account && y.Refrigerant == x.Refrigerant && y.Grams != x.After {
							t.Fatalf("%+v: the book says %d g", x, y.Grams)
						}
					}
					if x.Account.Holder == Machine {
						held[p] = x.After
						in[x.Refrigerant] += x.In
						out[x.Refrigerant] += x.Out
						lost[x.Refrigerant] += x.Lost
					}
				}
				for _, l := range m.Lines {
					if in[l.Refrigerant] != l.In || out[l.Refrigerant] != l.Out || lost[l.Refrigerant] != l.Lost {
						t.Fatalf("%+v, its machines: in %d, out %d, lost %d", l, in[l.Refrigerant], out[l.Refrigerant], lost[l.Refrigerant])
					}
				}
			}
		}
	})
}

// A month belongs to the site's clock: 1 March 02:00 UTC is still February in Chicago (UTC−6).
func TestMonth_Zone(t *testing.T) {
	e := Entry{
		ID:          "1",
		At:          time.Date(2026, 3, 1, 2, 0, 0, 0, time.UTC),
		Site:        "s",
		Kind:        Opening,
		Refrigerant: "R-22",
		From:        Account{Supplier, ""},
		To:          mach("M"),
		Grams:       5,
	}
	b, err := New([]Entry{e})
	if err != nil {
		t.Fatal(err)
	}
	chicago := time.FixedZone("CST", -6*3600)
	feb, _ := b.Month("s", 2026, time.February, chicago, "AR4")
	mar, _ := b.Month("s", 2026, time.March, chicago, "AR4")
	if len(feb.Entries) != 1 || len(mar.Entries) != 0 || mar.Lines[0].Before != 5 {
		t.Errorf("February %+v, March %+v", feb, mar)
	}
	var out bytes.Buffer
	if err := feb.WriteCSV(&out); err != nil || !strings.Contains(out.String(), "2026-02-28,1,opening,R-22,supplier,machine M,5,9.05,AR4") {
		t.Errorf("%v\n%s", err, out.String())
	}
}

// The CSV reads back, whatever was typed, and no cell can be taken for a formula.
func TestMonth_CSV(t *testing.T) {
	e := Entry{
		ID:          "=1",
		At:          start,
		Site:        "s",
		Kind:        Loss,
		Refrigerant: "R-764",
		From:        mach("@M"),
		To:          Account{Atmosphere, ""},
		Grams:       7,
		Note:        "=HYPERLINK(\"x\"), \"quoted\"\nline",
	}
	b, err := New([]Entry{e})
	if err != nil {
		t.Fatal(err)
	}
	m, err := b.Month("s", 2026, time.March, nil, "AR4")
	if err != nil {
		t.Fatal(err)
	}
	var one, two, three bytes.Buffer
	if err := m.WriteCSV(&one); err != nil {
		t.Fatal(err)
	}
	if err := m.WriteLines(&two); err != nil {
		t.Fatal(err)
	}
	if err := m.WriteAccounts(&three); err != nil || !strings.Contains(three.String(), "machine,'@M,R-764,0,0,0,7,0,-7") {
		t.Errorf("%v %q", err, three.String())
	}
	rows, err := csv.NewReader(&one).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("%v %v", rows, err)
	}
	for _, c := range rows[1] {
		if c != "" && strings.ContainsRune("=+-@", rune(c[0])) {
			t.Errorf("cell %q is a formula", c)
		}
	}
	// R-764 has no potential on file: the cells are empty, not zero.
	if rows[1][7] != "" || rows[1][8] != "" || rows[1][10] != "'"+e.Note {
		t.Errorf("%q", rows[1])
	}
	if got := two.String(); got != "refrigerant,before_g,in_g,out_g,lost_g,after_g,lost_co2e_kg,gwp_edition\nR-764,0,0,0,7,-7,,\n" {
		t.Errorf("%q", got)
	}
}
