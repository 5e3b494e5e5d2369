package text_test

import (
	"strings"
	"testing"

	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/say/text"
)

// Every code of the law and the ledger has words in both languages, and the two differ.
func TestLaw_EveryCodeHasWords(t *testing.T) {
	both := func(what string, say func(text.Language) string) {
		t.Helper()
		en, es := say(text.English), say(text.Spanish)
		for _, s := range []string{en, es} {
			if bad := wellSaid(s); bad != "" {
				t.Errorf("%s: %s: %q", what, bad, s)
			}
		}
		if en == es {
			t.Errorf("%s is the same in both languages: %q", what, en)
		}
	}
	codes, err := law.DutyCodes()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range codes {
		both(c, func(l text.Language) string { return text.Duty(c, l).Name })
		both(c, func(l text.Language) string { return text.Duty(c, l).Do })
	}
	for _, c := range law.ReasonCodes() {
		both(c, func(l text.Language) string { return text.DutyReason(c, l) })
	}
	subsectors, err := law.Subsectors()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range law.Classes() {
		subsectors = append(subsectors, string(c))
	}
	for _, c := range subsectors {
		both(c, func(l text.Language) string { return text.LawWord(c, l) })
	}
	for _, k := range []law.EventKind{
		law.Mothballed, law.BackInService, law.PlanMade, law.Retrofitted, law.Retired, law.ReportSent,
		law.DetectionStarted, law.DetectionAudit, "detection_removed", law.NormalOperation,
	} {
		both(string(k), func(l text.Language) string { return text.LawEvent(string(k), l) })
	}
	for _, j := range law.Jurisdictions() {
		both(string(j), func(l text.Language) string { return text.Jurisdiction(j, l) })
	}
	both("no rules", text.NoRules)
	both("counted", func(l text.Language) string { return text.LedgerKind(ledger.Counted, l) })
	for _, s := range []law.State{law.Met, law.Open, law.Overdue, law.NotApplicable, law.Unknown} {
		both(string(s), func(l text.Language) string { return text.DutyState(s, l) })
	}
	for _, s := range []law.Trust{law.Read, law.SecondHand, law.FromMemory} {
		both(string(s), func(l text.Language) string { return text.Trust(s, l) })
	}
	for _, c := range law.ChangeCodes() {
		both(c, func(l text.Language) string { return text.Change(c, l) })
	}
	for _, k := range []ledger.Kind{
		ledger.Bought, ledger.Opening, ledger.Charge, ledger.TopUp, ledger.Recover, ledger.Transfer, ledger.Heel, ledger.SentAway,
		ledger.Destroy, ledger.Loss, ledger.Withdrawn,
	} {
		both(string(k), func(l text.Language) string { return text.LedgerKind(k, l) })
	}
	for _, c := range []string{ledger.NegativeBalance, ledger.MixedCylinder, ledger.Contested, ledger.Orphan, ledger.Circular} {
		both(c, func(l text.Language) string { return text.LedgerFinding(c, l) })
	}
	both("caution", text.LawCaution)
	for _, c := range []string{
		"method_annualizing", "jurisdiction_from_zone", "class_from_application", "installed_year_only",
		"installed_unreadable", law.AssumedSameLeak,
	} {
		both(c, func(l text.Language) string { return text.LawAssumed(c, l) })
	}
	for _, x := range law.Exemptions() {
		both(string(x), func(l text.Language) string { return text.LawWord(string(x), l) })
	}
	both("no clocks", text.NoClocks)
	// What is not verified says so in plain words.
	if !strings.Contains(text.Trust(law.FromMemory, text.English), "memory") ||
		!strings.Contains(text.Trust(law.SecondHand, text.English), "Second hand") {
		t.Error("a label is not said")
	}
	if n := strings.Count(text.LawCaution(text.English), "."); n != 1 {
		t.Errorf("the caution has %d sentences", n)
	}
}

func TestDutyFacts(t *testing.T) {
	for _, c := range []struct {
		args   map[string]float64
		en, es string
	}{
		{
			map[string]float64{"annualizing_percent": 25.347, "rolling_percent": 18, "limit_percent": 20},
			"Annualized 25.3 %, rolling 18 % of the full charge; limit 20 %.", "Anualizada 25.3 %, móvil 18 % de la carga completa; límite 20 %.",
		},
		{
			map[string]float64{"inhg": 15, "inhg_before_1993": 4},
			"15 inHg of vacuum; 4 with a recovery machine made before 15 November 1993.",
			"15 inHg de vacío; 4 con una recuperadora fabricada antes del 15 de noviembre de 1993.",
		},
		{map[string]float64{"inhg": 0, "inhg_before_1993": 0}, "0 inHg of vacuum.", "0 inHg de vacío."},
		{map[string]float64{"mmhg_absolute": 25}, "25 mmHg absolute.", "25 mmHg absolutos."},
		{
			map[string]float64{"months": 6, "co2e_t": 78.44},
			"At least every 6 months, for 78.4 t CO₂e.",
			"Al menos cada 6 meses, para 78.4 t CO₂e.",
		},
		{map[string]float64{"gwp": 3922, "limit_gwp": 2500}, "GWP 3922, limit 2500.", "PCA 3922, límite 2500."},
		{
			map[string]float64{"lost_percent": 130, "limit_percent": 125},
			"130 % of the full charge lost in the calendar year; reported from 125 %.",
			"130 % de la carga completa perdido en el año natural; se informa desde 125 %.",
		},
		{map[string]float64{"co2e_t": 3.2}, "3.2 t CO₂e.", "3.2 t CO₂e."},
		{nil, "", ""},
	} {
		d := law.Duty{Args: c.args}
		if en, es := text.DutyFacts(d, text.English), text.DutyFacts(d, text.Spanish); en != c.en || es != c.es {
			t.Errorf("%v: %q, %q", c.args, en, es)
		}
	}
	if got := text.DutyLate(law.Duty{Args: map[string]float64{"late_days": 5}}, text.English); got != "5 days late." {
		t.Errorf("%q", got)
	}
	if got := text.DutyLate(law.Duty{Args: map[string]float64{"late_days": 1}}, text.Spanish); got != "Un día tarde." {
		t.Errorf("%q", got)
	}
}
