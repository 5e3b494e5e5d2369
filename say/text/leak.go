package text

import "coldwright/leak"

type leakPlace struct {
	Name string `json:"name"`
	Look string `json:"look"` // where exactly to look
}

// LeakPlace names a place of the leak catalogue; a place in a person's own words stays as it is.
func LeakPlace(key string, l Language) string {
	if p, ok := l.words().LeakPlaces[key]; ok {
		return p.Name
	}
	return key
}

// LeakLook says where exactly to look at a place; empty for a place in a person's own words.
func LeakLook(key string, l Language) string {
	if p, ok := l.words().LeakPlaces[key]; ok {
		return p.Look
	}
	return ""
}

// LeakMethod names a way of searching; a person's own words stay as they are.
func LeakMethod(key string, l Language) string {
	if w, ok := l.words().LeakMethods[key]; ok {
		return w
	}
	return key
}

// LeakCharge names what stands in the circuit during the search.
func LeakCharge(key string, l Language) string { return saidOr(l.words().LeakCharges, key) }

// LeakWhy says why a place is next.
func LeakWhy(code string, l Language) string { return saidOr(l.words().LeakWhy, code) }

// LeakVerdict says whether looking is worth it, and what else to do.
func LeakVerdict(v leak.Verdict, l Language) string { return saidOr(l.words().LeakVerdicts, string(v)) }

// LeakCaution is a reminder at a way of searching.
func LeakCaution(code string, l Language) string { return saidOr(l.words().LeakCautions, code) }

// LeakSafeguard is a reminder at a step of the repair.
func LeakSafeguard(code string, l Language) string { return saidOr(l.words().LeakSafeguards, code) }

// LeakStage says how far a leak has come.
func LeakStage(s leak.Stage, l Language) string { return saidOr(l.words().LeakStages, string(s)) }

// LeakAct is the label of what moves a leak on.
func LeakAct(a leak.Act, l Language) string { return saidOr(l.words().LeakActs, string(a)) }
