package text

import (
	"embed"
	"encoding/json"
	"sync"
)

// wordFiles hold what each language says, one file a language.
//
//go:embed words/*.json
var wordFiles embed.FS

// words is all that one language says, as its file holds it. Keys are the codes of the packages below; {1}, {2} …
// and {name} stand for what is put in, {name:how} for an argument in the units asked for (see [fill]).
type words struct {
	Applications     map[string]string       `json:"applications"`
	Assumed          map[string]string       `json:"assumed"` // what a default filled in
	AssumedValues    map[string]string       `json:"assumed_values"`
	Cautions         map[string]string       `json:"cautions"`
	CheckCauses      map[string]string       `json:"check_causes"`
	CheckCautions    map[string]string       `json:"check_cautions"`
	CheckWords       map[string]string       `json:"check_words"` // lines about checks
	Checks           map[string]checkWords   `json:"checks"`
	Complaints       map[string]string       `json:"complaints"`
	Channels         map[string]string       `json:"channels"` // what a cold record is read from
	Derived          map[string]string       `json:"derived"`
	Diagram          DiagramWords            `json:"diagram"`
	Duties           map[string]DutyWords    `json:"duties"`
	DutyReasons      map[string]string       `json:"duty_reasons"`
	DutyStates       map[string]string       `json:"duty_states"`
	Expansions       map[string]string       `json:"expansions"`
	Faults           map[string]Words        `json:"faults"`
	Figures          map[string]string       `json:"figures"`
	Findings         map[string]string       `json:"findings"`
	FoodLimits       map[string]string       `json:"food_limits"`
	Grades           map[string]string       `json:"grades"` // how well a refrigerant is known, by the engine's own words
	HeadControls     map[string]string       `json:"head_controls"`
	InstrumentProofs map[string]string       `json:"instrument_proofs"` // by fault
	Instruments      map[string]string       `json:"instruments"`
	JudgedOn         map[string]string       `json:"judged_on"` // what a judgement rests on, and why a reading does not count
	Jurisdictions    map[string]string       `json:"jurisdictions"`
	LawAssumed       map[string]string       `json:"law_assumed"`
	LawChanges       map[string]string       `json:"law_changes"` // what another refrigerant would mean
	LawEvents        map[string]string       `json:"law_events"`
	LawWords         map[string]string       `json:"law_words"` // classes and uses as the rules name them
	LeakActs         map[string]string       `json:"leak_acts"`
	LeakCautions     map[string]string       `json:"leak_cautions"`
	LeakCharges      map[string]string       `json:"leak_charges"`
	LeakMethods      map[string]string       `json:"leak_methods"`
	LeakPlaces       map[string]leakPlace    `json:"leak_places"`
	LeakSafeguards   map[string]string       `json:"leak_safeguards"`
	LeakStages       map[string]string       `json:"leak_stages"`
	LeakVerdicts     map[string]string       `json:"leak_verdicts"`
	LeakWhy          map[string]string       `json:"leak_why"`
	LedgerFindings   map[string]string       `json:"ledger_findings"`
	LedgerKinds      map[string]string       `json:"ledger_kinds"`
	Levels           map[string]string       `json:"levels"` // how sure something is
	LoadWords        map[string]string       `json:"load_words"`
	Machines         map[string]string       `json:"machines"` // with their article, by application
	Misfit           map[string]string       `json:"misfit"`   // which reading cannot belong where nothing fits, and why
	Mistakes         map[string]mistakeWords `json:"mistakes"` // a failure by its key; one of the kind Required that says nothing is missing
	Months           []string                `json:"months"`
	MonthsShort      []string                `json:"months_short"`
	NextReadings     map[string]nextWords    `json:"next_readings"`
	Places           map[string]PlaceWords   `json:"places"`
	PracticeMachines map[string]string       `json:"practice_machines"`
	Pulls            map[string]string       `json:"pulls"`             // verdicts and sentences of a pull-down
	RefrigerantNames map[string]string       `json:"refrigerant_names"` // what people call a designation
	Remedies         map[string]string       `json:"remedies"`
	Report           map[string]string       `json:"report"`
	Risks            map[string]string       `json:"risks"`
	Said             map[string]string       `json:"said"`      // parts of sentences that the functions of this package put together
	Saturated        map[string]string       `json:"saturated"` // a pressure as a temperature, by place
	Seen             map[string]SeenWords    `json:"seen"`
	Sentences        map[string]string       `json:"sentences"` // findings and verdicts of loads and charges
	SignHow          map[string]string       `json:"sign_how"`
	SignRoles        map[string]string       `json:"sign_roles"`
	Steps            map[string]stepWords    `json:"steps"`
	Terminal         map[string]string       `json:"terminal"` // lines of the terminal's text
	Trials           map[string]string       `json:"trials"`   // standing pressure, vacuum rise and cold record
	Trust            map[string]string       `json:"trust"`
	Wheres           map[string]string       `json:"wheres"` // what photos and notes belong to
	Work             map[string]string       `json:"work"`
}

// loaded are the words of each language, read when it first speaks.
var loaded = func() map[Language]func() *words {
	all := map[Language]func() *words{}
	for _, l := range Languages() {
		all[l] = sync.OnceValue(func() *words {
			file, err := wordFiles.ReadFile("words/" + string(l) + ".json")
			w := new(words)
			if err == nil {
				// A test reads every file strictly; here that would be ten times as slow, and a command says little.
				err = json.Unmarshal(file, w)
			}
			if err != nil {
				panic("embedded words: " + err.Error())
			}
			return w
		})
	}
	return all
}()

// words are what a language says; a language that is not known is English.
func (l Language) words() *words {
	if load, ok := loaded[l]; ok {
		return load()
	}
	return loaded[English]()
}

// say is a part of a sentence with its arguments in the places {1}, {2} …
func (l Language) say(key string, args ...string) string { return put(l.words().Said[key], args...) }
