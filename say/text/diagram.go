package text

import (
	"strings"

	"coldwright/machine/circuit"
	"coldwright/machine/reading"
)

// DiagramWords are the words on and beside the pressure–enthalpy diagram.
type DiagramWords struct {
	Title         string            `json:"title"`
	Section       string            `json:"section"`
	Superheat     string            `json:"superheat"` // short, before a number
	Subcooling    string            `json:"subcooling"`
	Vapour        string            `json:"vapour"`  // after a share: "23 % vapour"
	State         string            `json:"state"`   // head of the table's first column
	Healthy       string            `json:"healthy"` // after the name of a state
	Dew           string            `json:"dew"`     // before a temperature
	Bubble        string            `json:"bubble"`
	To            string            `json:"to"`     // between the ends of a range
	DewAt         string            `json:"dew_at"` // rows of the table
	BubbleAt      string            `json:"bubble_at"`
	CoilHeat      string            `json:"coil_heat"`
	Work          string            `json:"work"`
	Enthalpy      string            `json:"enthalpy"`       // name of the axis
	Read          string            `json:"read"`           // what solid means
	Band          string            `json:"band"`           // what hatched means
	BandDesign    string            `json:"band_design"`    // when only the design stands behind the band
	Lines         string            `json:"lines"`          // what the other lines mean
	LinesShort    string            `json:"lines_short"`    // on paper
	Counted       string            `json:"counted"`        // where enthalpy is counted from, in kJ/kg
	CountedASHRAE string            `json:"counted_ashrae"` // in Btu/lb
	NotRead       string            `json:"not_read"`       // before a list of places
	Outside       string            `json:"outside"`        // %: the name of a place
	TooHot        string            `json:"too_hot"`
	TooCold       string            `json:"too_cold"`
	OnBubble      string            `json:"on_bubble"`
	OnDew         string            `json:"on_dew"`
	Corners       map[string]string `json:"corners"`
	Places        map[string]string `json:"places"`
}

// Diagram returns the diagram's words; a language it does not know is English.
func Diagram(lang Language) DiagramWords { return lang.words().Diagram }

// Corner is the short name of a state of the cycle.
func (w DiagramWords) Corner(c circuit.Corner) string { return w.Corners[c.String()] }

// Notes says what is missing from a cycle and what was drawn with a reservation, one sentence each.
func (w DiagramWords) Notes(c circuit.Cycle) []string {
	var out, unread []string
	said := map[circuit.Gap]bool{}
	for _, g := range c.Gaps {
		key := circuit.Gap{Why: g.Why, Need: g.Need}
		if said[key] {
			continue
		}
		said[key] = true
		form := ""
		switch g.Why {
		case circuit.NotRead:
			unread = append(unread, w.Places[g.Need.String()])
			continue
		case circuit.OutsideData:
			form = w.Outside
		default:
			form = w.TooCold
			if g.Need == reading.LiquidLine {
				form = w.TooHot
			}
		}
		out = append(out, strings.Replace(form, "%", UpperFirst(w.Places[g.Need.String()]), 1))
	}
	if len(unread) > 0 {
		out = append([]string{w.NotRead + strings.Join(unread, ", ") + "."}, out...)
	}
	for _, s := range c.States {
		switch {
		case !s.Saturated:
		case s.At == circuit.LiquidOut:
			out = append(out, strings.Replace(w.OnBubble, "%", w.Corner(s.At), 1))
		default:
			out = append(out, strings.Replace(w.OnDew, "%", w.Corner(s.At), 1))
		}
	}
	return out
}
