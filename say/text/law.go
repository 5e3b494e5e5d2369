package text

import (
	"strings"

	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// DutyWords are the words of one duty: its name and what to do.
type DutyWords struct {
	Name string `json:"name"`
	Do   string `json:"do"`
}

// Duty returns the words of a duty; an unknown code shows itself.
func Duty(code string, l Language) DutyWords {
	if w, ok := l.words().Duties[code]; ok {
		return w
	}
	return DutyWords{Name: UpperFirst(strings.ReplaceAll(code, "_", " "))}
}

// DutyReason is why a duty stands as it does.
func DutyReason(code string, l Language) string {
	if w, ok := l.words().DutyReasons[code]; ok {
		return w
	}
	if code == "" {
		return ""
	}
	return UpperFirst(strings.ReplaceAll(code, "_", " ")) + "."
}

// DutyState is a state in a word or two.
func DutyState(s law.State, l Language) string { return l.words().DutyStates[string(s)] }

// Trust says how far the numbers of a rule can be relied on.
func Trust(t law.Trust, l Language) string { return l.words().Trust[string(t)] }

// NoClocks says why no clocks can be shown for a machine.
func NoClocks(l Language) string {
	return l.say("no_clocks")
}

// NoRules says that no rules on file hold at a site.
func NoRules(l Language) string {
	return l.say("no_rules")
}

// Jurisdiction is whose rules hold, in words.
func Jurisdiction(j law.Jurisdiction, l Language) string { return l.words().Jurisdictions[string(j)] }

// LawCaution stands once wherever duties are shown.
func LawCaution(l Language) string {
	return l.say("law_caution")
}

// DutyFacts is the numbers of a duty in a sentence, empty when it has none to tell.
func DutyFacts(d law.Duty, l Language) string {
	n := func(key string, decimals int) string { return tidyNumber(d.Args[key], decimals) }
	has := func(key string) bool { _, ok := d.Args[key]; return ok }
	switch {
	case has("annualizing_percent"):
		s := l.say("duty_facts.annualized", n("annualizing_percent", 1), n("rolling_percent", 1), n("limit_percent", 0))
		if has("annualizing_percent_alone") {
			s += l.say("duty_facts.annualized_alone", n("annualizing_percent_alone", 0))
		}
		return s
	case has("lost_percent"):
		return l.say("duty_facts.lost", n("lost_percent", 0), n("limit_percent", 0))
	case has("mmhg_absolute"):
		return l.say("duty_facts.mmhg", n("mmhg_absolute", 0))
	case has("inhg"):
		if d.Args["inhg"] == d.Args["inhg_before_1993"] {
			return l.say("duty_facts.inhg", n("inhg", 0))
		}
		return l.say("duty_facts.inhg_old_machine", n("inhg", 0), n("inhg_before_1993", 0))
	case has("months") && has("co2e_t"):
		return l.say("duty_facts.months_co2e", n("months", 0), n("co2e_t", 1))
	case has("months"):
		return l.say("duty_facts.months", n("months", 0))
	case has("limit_gwp"):
		return l.say("duty_facts.gwp", n("gwp", 0), n("limit_gwp", 0))
	case has("co2e_t"):
		return n("co2e_t", 2) + " t CO₂e."
	}
	return ""
}

// Sentences joins what is not empty.
func Sentences(list ...string) string {
	var out []string
	for _, s := range list {
		if s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, " ")
}

// Appointment is a duty as an entry of a calendar; machine is how everyone calls it, or empty.
func Appointment(d law.Duty, machine string, l Language) (summary, description string) {
	w := Duty(d.Code, l)
	summary = w.Name
	if machine != "" {
		summary += ": " + machine
	}
	return summary, Sentences(
		w.Do,
		DutyFacts(d, l),
		DutyReason(d.Reason, l),
		d.Article+" ("+d.Edition+").",
		Trust(d.Trust, l),
		LawCaution(l),
	)
}

// DutyLate says how late a duty was met, empty when it was in time.
func DutyLate(d law.Duty, l Language) string {
	days, ok := d.Args["late_days"]
	if !ok {
		return ""
	}
	if days == 1 {
		return l.say("duty_late.one")
	}
	return l.say("duty_late.many", units.Fixed(days, 0))
}

// tidyNumber prints a number with at most so many decimals.
func tidyNumber(v float64, decimals int) string {
	s := units.Fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// LedgerKind is a kind of entry of the refrigerant ledger.
func LedgerKind(k ledger.Kind, l Language) string { return l.words().LedgerKinds[string(k)] }

// LedgerFinding is a sentence about something to look at in the ledger.
func LedgerFinding(code string, l Language) string { return l.words().LedgerFindings[code] }

// Change is what a change of refrigerant would mean, in a sentence.
func Change(code string, l Language) string { return l.words().LawChanges[code] }

// ChangeValues are the two sides of a change in brackets, or where it is written.
func ChangeValues(c law.Change) string {
	number := func(v *float64) string {
		switch {
		case v == nil:
			return "?"
		case c.Code == law.ChangePressure:
			return units.Fixed(*v/units.Bar, 1) + " bar(a)"
		case c.Code == law.ChangeGlide:
			return units.Fixed(*v, 1) + " K"
		}
		return units.Fixed(*v, 0)
	}
	switch {
	case c.A != nil || c.B != nil:
		return " (" + number(c.A) + " → " + number(c.B) + ")"
	case c.From != "" && c.To != "":
		return " (" + c.From + " → " + c.To + ")"
	case c.Where != "":
		return " (" + c.Where + ")"
	}
	return ""
}

// SameLeak says that an addition was counted with the one before it, and what it would be by itself.
func SameLeak(day ledger.Date, alone float64, assumed bool, l Language) string {
	if assumed {
		return l.say("same_leak.assumed", day.String(), tidyNumber(alone, 1))
	}
	return l.say("same_leak.said", day.String(), tidyNumber(alone, 1))
}

// LawAssumed is what a duties answer took for granted, in a sentence.
func LawAssumed(code string, l Language) string {
	if w, ok := l.words().LawAssumed[code]; ok {
		return w
	}
	return UpperFirst(strings.ReplaceAll(code, "_", " ")) + "."
}
