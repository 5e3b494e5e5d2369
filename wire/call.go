package wire

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"coldwright/checks"
	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/machine/reading"
	"coldwright/units"
)

// The JSON form of a call: what is complained of, what was found, and, where the machine ran, a sheet of readings.
type (
	jsonCall struct {
		Machine    *jsonMachine       `json:"machine,omitempty"`
		Complaint  string             `json:"complaint"`
		Phases     int                `json:"phases,omitempty"`
		Found      []jsonFound        `json:"found,omitempty"`
		Repaired   []string           `json:"repaired,omitempty"`
		Confirmed  map[string]float64 `json:"confirmed,omitempty"`
		Readings   []jsonReading      `json:"readings,omitempty"`
		Seen       map[string]any     `json:"seen,omitempty"`
		RunningMin *float64           `json:"running_min,omitempty"`
	}
	jsonFound struct {
		Check  string `json:"check"`
		Answer any    `json:"answer"`
	}
)

const (
	maxFound     = 200
	maxConfirmed = 1e6 // repairs of one cause: a company's lifetime
)

// ReadCall reads a call strictly.
//
//   - in: JSON of at most 1 MB
//   - out: the case without odds; the sheet, nil where there is no machine with readings or things seen
//   - errors: [*fail.Error] with field, what is allowed and what to do
//   - source: definition
func ReadCall(text []byte) (c checks.Case, sheet *reading.Sheet, err error) {
	var j jsonCall
	if err = strictjson.Decode(text, &j); err != nil {
		return c, nil, err
	}
	if c, sheet, err = j.call(); err != nil {
		return c, nil, strictjson.Locate(text, err)
	}
	return c, sheet, nil
}

func (j *jsonCall) call() (c checks.Case, sheet *reading.Sheet, err error) {
	n := checks.Standard()
	if _, ok := n.Complaint(j.Complaint); !ok {
		return c, nil, fail.Of(fail.NotFound, "complaint", "checks.complaint", fail.Args{"given": j.Complaint})
	}
	c.Complaint = j.Complaint
	if j.Phases != 0 && j.Phases != 1 && j.Phases != 3 {
		return c, nil, fail.Of(fail.Range, "phases", "checks.phases", fail.Args{"given": j.Phases})
	}
	c.Place.Phases = j.Phases
	if len(j.Found) > maxFound {
		return c, nil, fail.Of(fail.Range, "found", "checks.too_many", fail.Args{"count": len(j.Found), "most": maxFound})
	}
	for i, f := range j.Found {
		answer, err := f.answer(n)
		if err != nil {
			return c, nil, at(err, fmt.Sprintf("found[%d]", i))
		}
		c.Found = append(c.Found, checks.Found{Check: f.Check, Answer: answer})
	}
	known := func(field, code string) error {
		if _, ok := n.Cause(code); !ok {
			return fail.Of(fail.NotFound, field, "checks.cause", fail.Args{"given": code})
		}
		return nil
	}
	if len(j.Repaired) > maxFound {
		return c, nil, fail.Of(fail.Range, "repaired", "checks.too_many", fail.Args{"count": len(j.Repaired), "most": maxFound})
	}
	for i, code := range j.Repaired {
		if err := known(fmt.Sprintf("repaired[%d]", i), code); err != nil {
			return c, nil, err
		}
	}
	c.Repaired, c.Learned = j.Repaired, j.Confirmed
	for _, code := range slices.Sorted(maps.Keys(j.Confirmed)) {
		if err := known("confirmed."+code, code); err != nil {
			return c, nil, err
		}
		if x := j.Confirmed[code]; !(x >= 0 && x <= maxConfirmed) {
			return c, nil, fail.Of(fail.Range, "confirmed."+code, "reading.outside_si", fail.Args{"value": x, "min": 0.0, "max": maxConfirmed})
		}
	}
	if j.Machine == nil && (len(j.Readings) > 0 || len(j.Seen) > 0) {
		return c, nil, fail.Of(fail.Required, "machine", "checks.machine_missing", nil)
	}
	if j.Machine != nil {
		s := jsonSheet{Machine: j.Machine, Readings: j.Readings, Seen: j.Seen, RunningMin: j.RunningMin}
		read, err := s.sheet(j.Machine, 0)
		if err != nil {
			return c, nil, err
		}
		sheet = &read
	}
	return c, sheet, nil
}

// checkUnits are the units of measured checks as they are written.
var checkUnits = map[string][]string{
	"megohm": {"megohm", "Mohm", "MΩ"}, "starts_per_hour": {"/h", "per hour"},
	"percent_of_plate": {"%"}, "percent_of_print": {"%"}, "percent_unbalance": {"%"},
}

// mostOf is how much a measured check can show at all: a motor's volts at three times its plate are a meter read wrongly.
var mostOf = map[string]float64{
	"megohm": 1e6, "starts_per_hour": 1000, "percent_of_plate": 300, "percent_of_print": 300, "percent_unbalance": 100,
}

// answer is the code of what was found: a code as it stands, or what a measured number stands for.
func (f *jsonFound) answer(n *checks.Network) (string, error) {
	k, ok := n.Check(f.Check)
	if !ok {
		return "", fail.Of(fail.NotFound, "check", "checks.check", fail.Args{"given": f.Check})
	}
	allowed := strings.Join(append(slices.Clone(k.Answers), checks.Cannot), ", ")
	text, ok := f.Answer.(string)
	if !ok {
		if x, number := f.Answer.(float64); number && k.Number != nil {
			return "", fail.Of(fail.BadUnit, "answer", "checks.unit", fail.Args{"given": x, "units": unitsOf(k.Number.Unit)})
		}
		return "", fail.Of(fail.BadValue, "answer", "checks.answer", fail.Args{"given": fmt.Sprint(f.Answer), "allowed": allowed})
	}
	if text == checks.Cannot || slices.Contains(k.Answers, text) {
		return text, nil
	}
	if k.Number == nil {
		return "", fail.Of(fail.BadValue, "answer", "checks.answer", fail.Args{"given": text, "allowed": allowed})
	}
	x, err := checkNumber(text, k.Number.Unit)
	if err != nil {
		return "", fail.Of(fail.BadValue, "answer", "checks.number", fail.Args{
			"given": text, "allowed": allowed, "units": unitsOf(k.Number.Unit),
		})
	}
	answer, _ := k.Of(x)
	return answer, nil
}

func unitsOf(unit string) string {
	switch unit {
	case "kelvin":
		return "K, °F"
	case "ampere":
		return "A"
	}
	return strings.Join(checkUnits[unit], ", ")
}

// checkNumber reads a measured number with its unit.
func checkNumber(text, unit string) (float64, error) {
	switch unit {
	case "kelvin":
		d, err := units.ParseTempDiff(text, "")
		return float64(d), err
	case "ampere":
		return units.ParseCurrent(text, "")
	}
	for _, u := range checkUnits[unit] {
		if number, ok := strings.CutSuffix(strings.TrimSpace(text), u); ok {
			x, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
			if err == nil && !(x >= 0 && x <= mostOf[unit]) {
				err = strconv.ErrRange
			}
			return x, err
		}
	}
	return 0, strconv.ErrSyntax
}
