package app_test

import (
	"math"
	"strings"
	"testing"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/units"
)

// R-134a at 0 °C: 292.8 kPa (NIST Chemistry WebBook, SRD 69, saturation properties). One substance has one saturation
// pressure; R-407C glides by some kelvin.
func TestRefrigerantCard(t *testing.T) {
	a := app.New(app.NewMemStore(), app.Options{})
	card, err := a.RefrigerantCard("r134A", []units.Temp{units.Celsius(-200), units.Celsius(0), units.Celsius(400)})
	if err != nil {
		t.Fatal(err)
	}
	if len(card.Rows) != 1 || card.Glides || card.Refrigerant.Designation() != "R-134a" {
		t.Fatalf("%d rows, glides %v, %s", len(card.Rows), card.Glides, card.Refrigerant.Designation())
	}
	if got := float64(card.Rows[0].Dew) / units.Kilo; math.Abs(got-292.8) > 0.1 {
		t.Errorf("R-134a at 0 °C: %.2f kPa, NIST 292.8", got)
	}
	blend, err := a.RefrigerantCard("R-407C", []units.Temp{units.Celsius(0)})
	if err != nil || !blend.Glides || blend.Rows[0].Bubble <= blend.Rows[0].Dew {
		t.Errorf("R-407C: %+v, %v", blend.Rows, err)
	}
}

// What the card says at a temperature is what a pressure means: there and back, for every refrigerant on file.
func TestSaturatedAt_ThereAndBack(t *testing.T) {
	a := app.New(app.NewMemStore(), app.Options{})
	tried := 0
	for _, name := range refrigerant.Designations() {
		if !strings.HasPrefix(name, "R-4") && !strings.HasPrefix(name, "R-1") {
			continue // two families: the fit of each takes some milliseconds
		}
		card, err := a.RefrigerantCard(name, []units.Temp{units.Celsius(-20), units.Celsius(10)})
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range card.Rows {
			back, err := a.SaturatedAt(name, row.Dew)
			if fail.CodeOf(err) == fail.Range {
				continue // the bubble point at that pressure lies colder than its fit begins
			}
			if err != nil || math.Abs(float64(back.Dew-row.T)) > 1e-3 || back.Bubble > back.Dew+1e-3 {
				t.Errorf("%s at %.0f K: back at %v, %v", name, float64(row.T), back, err)
			}
			tried++
		}
	}
	if tried < 150 {
		t.Errorf("only %d tried", tried)
	}
}

func TestRefrigerant_Refused(t *testing.T) {
	a := app.New(app.NewMemStore(), app.Options{})
	if _, err := a.RefrigerantCard("R-9999", nil); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("an unknown refrigerant: %v", err)
	}
	for _, p := range []units.Pressure{0, -5, 1e9, units.Pressure(math.NaN()), units.Pressure(math.Inf(1))} {
		if _, err := a.SaturatedAt("R-134a", p); fail.CodeOf(err) != fail.Range {
			t.Errorf("%g Pa: %v", float64(p), err)
		}
	}
}
