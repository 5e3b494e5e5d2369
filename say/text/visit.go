package text

import (
	"strings"

	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// Step is a step of a visit.
type Step struct{ Key, Title, Hint string }

// stepWords are the words of a step.
type stepWords struct {
	Title string `json:"title"`
	Hint  string `json:"hint"`
}

// steps are the steps of a visit in the order in which they happen.
var steps = []string{"arrive", "look", "time", "connect", "judge", "repair", "tight", "dry", "charge", "cold", "write"}

// Steps lists the eleven steps of a visit in the order in which they happen.
func Steps(lang ...Language) []Step {
	words := one(lang).words().Steps
	var out []Step
	for _, key := range steps {
		out = append(out, Step{key, words[key].Title, words[key].Hint})
	}
	return out
}

// WorkCodes lists the kinds of work that have words, sorted.
func WorkCodes() []string { return keysOf(English.words().Work) }

// Work is the words for a kind of work.
func Work(code string, lang ...Language) string {
	return saidOr(one(lang).words().Work, code)
}

// Caution is a reminder that stands at the step where the danger is.
type Caution struct{ Code, Text string }

// Danger is what cautions depend on: the refrigerant's designation and safety class ("A1", "A2L", "A3", "B2L"; ""
// when not known) and the application.
type Danger struct {
	Refrigerant, Safety string
	Application         reading.Application
}

// DangerOf is the danger of a machine: the class of its refrigerant as it is on file.
func DangerOf(designation string, a reading.Application) Danger {
	d := Danger{Refrigerant: designation, Application: a}
	if r, err := refrigerant.Load(designation); err == nil {
		if c, ok := r.Safety(); ok {
			d.Safety = c.Class
		}
		d.Refrigerant = r.Designation() // however it was written
	}
	return d
}

// Flammable reports whether the refrigerant burns; where no class is on file it is taken to.
func (d Danger) Flammable() bool { return refrigerant.SafetyClass{Class: d.Safety}.Burns() }

// Toxic reports whether little of the refrigerant harms; where no class is on file it is taken to.
func (d Danger) Toxic() bool { return refrigerant.SafetyClass{Class: d.Safety}.Poisons() }

// WalkIn reports whether one walks into the box; its panels are foam.
func (d Danger) WalkIn() bool {
	return d.Application == reading.WalkInCooler || d.Application == reading.WalkInFreezer
}

// flammableCode is the caution of a refrigerant that burns.
func (d Danger) flammableCode() string {
	if d.Safety == "" || strings.HasSuffix(d.Safety, "3") {
		return "explosive"
	}
	return flammable
}

const (
	flammable     = "flammable"
	toxic         = "toxic"
	classUnknown  = "class_unknown"
	carbonDioxide = "carbon_dioxide"
)

// The sentences of cautions are ours; what they say is common to the trade's published guides. The cylinder's limit of
// 80 % by volume of liquid is a common rule of the trade, from memory.
var stepCautions = map[string][]string{
	"arrive":     {"food"},
	"look":       {"electrical", "shut_in"},
	"time":       {"shut_in"},
	"connect":    {"gauges"},
	"judge":      {},
	"repair":     {"open", "braze", "air"},
	"tight":      {"nitrogen"},
	"dry":        {"evacuate"},
	"charge":     {"charge"},
	"cold":       {"start", "shut_in"},
	"write":      {},
	"gauges":     {"gauges"},
	"electrical": {"electrical"},
	"open":       {"open"},
	"braze":      {"braze"},
	"nitrogen":   {"nitrogen"},
	"evacuate":   {"evacuate"},
}

// CautionSteps lists the steps and acts that Cautions knows, sorted.
func CautionSteps() []string { return keysOf(stepCautions) }

// Cautions returns the reminders at a step of a visit, or at one act: gauges, electrical, open, braze, nitrogen, evacuate, charge.
func Cautions(step string, d Danger, lang ...Language) []Caution {
	words := one(lang).words().Cautions
	var out []Caution
	opensCircuit := false
	for _, c := range stepCautions[step] {
		if c == "shut_in" && !d.WalkIn() && d.Application != reading.ApplicationUnknown {
			continue
		}
		switch c {
		case "gauges", "open", "braze", "evacuate", "charge":
			opensCircuit = true
		}
		out = append(out, Caution{c, words[c]})
	}
	if opensCircuit {
		out = append(RefrigerantCautions(d, lang...), out...)
	}
	return out
}

// RefrigerantCautions are what the refrigerant itself can do to whoever opens its circuit, most telling first; none of
// one that neither burns nor poisons.
func RefrigerantCautions(d Danger, lang ...Language) (out []Caution) {
	words := one(lang).words().Cautions
	add := func(code, key string) {
		name := d.Refrigerant
		if name == "" {
			name = one(lang).say("this_refrigerant")
			if code == classUnknown {
				name = LowerFirst(name) // inside the sentence
			}
		}
		out = append(out, Caution{code, put(words[key], name)})
	}
	if d.Refrigerant == "R-744" {
		add(carbonDioxide, carbonDioxide)
	}
	if d.Safety == "" {
		add(classUnknown, classUnknown)
	}
	if d.Flammable() {
		add(flammable, d.flammableCode())
	}
	if d.Toxic() {
		add(toxic, toxic)
	}
	return out
}
