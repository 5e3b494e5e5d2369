package text

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/num"
	"coldwright/refrigerant"
	"coldwright/units"
)

// mistakeWords are what a failure says.
type mistakeWords struct {
	Says string `json:"says,omitempty"` // what is wrong
	Do   string `json:"do,omitempty"`   // what is allowed, what to do
}

// Voice says what went wrong to one person.
type Voice struct {
	Language Language                 // none is English
	Display  units.Display            // the units asked for; none is °F and psig
	Ambient  units.Pressure           // for gauge pressures; none is sea level
	Setting  func(name string) string // what a setting is called where the person gives it; nil for its own name
}

// Said is a failure in words, without a capital at its beginning or a full stop at its end where it stands in a line.
type Said struct {
	Where    string // a form field, a place in a file, a flag; may be empty
	Says, Do string // what is wrong and what to do; Do may be empty
	Missing  bool   // Says has the place as its subject: something is missing
	lang     Language
}

// Mistake says a failure. What is no [fail.Error] is the program's own and is shown as it is, behind a sentence of ours.
func (v Voice) Mistake(err error) Said {
	var e *fail.Error
	if !errors.As(err, &e) {
		if s, ok := v.engine(err); ok {
			return s
		}
		return v.say(fail.Of(fail.Internal, "", "program.failed", fail.Args{"why": err}))
	}
	return v.say(e)
}

func (v Voice) say(e *fail.Error) Said {
	s := Said{Where: v.where(e.Field), lang: v.Language}
	w, ok := v.words(e.Key)
	if !ok { // a test forbids it
		s.Says = e.Error()
		return s
	}
	s.Missing = w.Says == "" || e.Key == "field.missing"
	if w.Says == "" {
		w.Says = v.sentence("field.missing")
	}
	s.Says, s.Do = v.fill(w.Says, e.Args), v.fill(w.Do, e.Args)
	if why := e.Unwrap(); why != nil && w.Do == "" {
		s.Do = v.why(why).Do
	}
	return s
}

func (v Voice) words(key string) (mistakeWords, bool) {
	w, ok := v.language().words().Mistakes[key]
	return w, ok
}

func (v Voice) language() Language { return one([]Language{v.Language}) }

// engine says the errors of the engine, which is a library of its own and names no keys.
func (v Voice) engine(err error) (Said, bool) {
	var unknown *refrigerant.UnknownError
	if errors.As(err, &unknown) {
		e := fail.Of(fail.NotFound, "", "refrigerant.unknown", fail.Args{"name": unknown.Designation})
		if len(unknown.Near) > 0 {
			e = fail.Of(fail.NotFound, "", "refrigerant.unknown_near", fail.Args{"name": unknown.Designation, "near": unknown.Near})
		}
		return v.say(e), true
	}
	var outside *num.RangeError
	if errors.As(err, &outside) {
		return v.outside(outside), true
	}
	return Said{}, false
}

// outside says that a model does not hold for a value, in the units asked for. Its pressures are absolute.
func (v Voice) outside(e *num.RangeError) Said {
	show := func(x float64) any {
		switch e.Dimension {
		case num.Temperature:
			return units.Temp(x)
		case num.Pressure:
			return x / units.Kilo
		case num.Enthalpy, num.Entropy:
			return x / units.Kilo
		}
		return x
	}
	unit := map[num.Dimension]string{
		num.Pressure: "kPa", num.Enthalpy: "kJ/kg", num.Entropy: "kJ/(kg K)", num.Density: "kg/m³", num.Volume: "m³",
	}[e.Dimension]
	args := fail.Args{
		"subject": e.Subject, "quantity": fail.Word(e.Quantity), "value": show(e.Value), "min": show(e.Min), "max": show(e.Max),
		"unit": unit, "reason": fail.Word(e.Reason),
	}
	if e.Reason == "" {
		return v.say(fail.Of(fail.Range, "", "engine.outside", args))
	}
	return v.say(fail.Of(fail.Range, "", "engine.outside_because", args))
}

var (
	placeholder = regexp.MustCompile(`\{([a-z]\w*)\}`)
	inFile      = regexp.MustCompile(`\b(line|column) \S`)
)

func (v Voice) fill(s string, args fail.Args) string {
	s = placeholder.ReplaceAllStringFunc(s, func(m string) string { return v.argument(args[m[1:len(m)-1]]) })
	return strings.TrimSpace(strings.ReplaceAll(s, "  ", " ")) // an argument may be empty, such as the unit of a plain number
}

// where is a place in the language: the words line and column are ours, all else stands in the person's own file.
func (v Voice) where(field string) string {
	if v.language() == English {
		return field
	}
	return inFile.ReplaceAllStringFunc(field, func(m string) string {
		return v.sentence("place."+m[:len(m)-2]) + m[len(m)-2:]
	})
}

func (v Voice) sentence(key string) string {
	w, _ := v.words(key)
	return w.Says
}

// argument says one argument by its type.
func (v Voice) argument(a any) string {
	d, ambient := v.Display, v.Ambient
	if d == (units.Display{}) {
		d = units.US()
	}
	if ambient == 0 {
		ambient = units.Atm
	}
	switch a := a.(type) {
	case string:
		return clip(a, 160)
	case float64:
		return number(a)
	case int:
		return strings.Replace(strconv.Itoa(a), "-", "−", 1)
	case units.Temp:
		return d.FormatTemp(a, 1)
	case units.TempDiff:
		return d.FormatDiff(a, 1)
	case units.Pressure:
		return d.FormatPressure(a, ambient)
	case units.Mass:
		return d.FormatMass(a)
	case time.Time:
		return Day(a, v.language())
	case fail.Setting:
		if v.Setting != nil {
			return v.Setting(string(a))
		}
		return `"` + string(a) + `"`
	case fail.Word:
		if s := v.sentence("thing." + string(a)); s != "" {
			return s
		}
		return clip(string(a), 200)
	case reading.Place:
		return LowerFirst(Place(a, v.language()).Label)
	case *fail.Error:
		return v.say(a).Line()
	case error:
		return v.why(a).Line()
	}
	if r := reflect.ValueOf(a); r.Kind() == reflect.Slice {
		var out []string
		for i := range r.Len() {
			out = append(out, v.argument(r.Index(i).Interface()))
		}
		return strings.Join(out, ", ")
	}
	return clip(fmt.Sprint(a), 160)
}

// why is an error behind another one.
func (v Voice) why(err error) Said {
	var e *fail.Error
	if errors.As(err, &e) {
		return v.say(e)
	}
	if s, ok := v.engine(err); ok {
		return s
	}
	return Said{Says: clip(err.Error(), 200), lang: v.Language}
}

// Line is a failure in one line, without what to do.
func (s Said) Line() string {
	if s.Where != "" {
		return s.Where + ": " + s.Says
	}
	return s.Says
}

// number prints up to six digits, in full and with a true minus sign.
func number(x float64) string {
	switch {
	case math.IsNaN(x):
		return "–"
	case math.Abs(x) > 1e300: // an error carries finite numbers; this one stands for no limit
		return [2]string{"−∞", "∞"}[max(0, int(math.Copysign(1, x)))]
	}
	if r, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 6, 64), 64); err == nil {
		x = r
	}
	return strings.Replace(strconv.FormatFloat(x, 'f', -1, 64), "-", "−", 1)
}

// clip keeps text on one line and short.
func clip(s string, n int) string {
	r := []rune(strings.Join(strings.Fields(s), " "))
	if len(r) > n {
		return string(r[:n]) + "…"
	}
	return string(r)
}

// Sentence is what is wrong as a sentence of its own, with its place as its subject where it needs one.
func (s Said) Sentence() string {
	says := s.Says
	if one([]Language{s.lang}) != English {
		if name := fieldName(s.Where); name != "" && s.Missing {
			says = name + ": " + says
		}
		return Stop(UpperFirst(says))
	}
	if s.Where != "" && says != "" && says[0] >= 'a' && says[0] <= 'z' {
		if name := fieldName(s.Where); !strings.HasPrefix(says, name+" ") {
			says = name + " " + says
		}
	}
	return Stop(UpperFirst(says))
}

// Advice is what to do as a sentence of its own, "" where there is nothing.
func (s Said) Advice() string {
	if s.Do == "" {
		return ""
	}
	return Stop(UpperFirst(s.Do))
}

// Beside is the whole beside its field: what is wrong, then what to do.
func (s Said) Beside() string {
	says := Stop(UpperFirst(s.Says))
	if s.Missing {
		says = Stop(UpperFirst(Voice{Language: s.lang}.sentence("field.needed")))
	}
	return strings.TrimSpace(says + " " + s.Advice())
}

// Stop ends a sentence.
func Stop(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") {
		return s
	}
	return s + "."
}

func fieldName(field string) string {
	return strings.ReplaceAll(field[strings.LastIndexByte(field, '.')+1:], "_", " ")
}
