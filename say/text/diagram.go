package text

import (
	"strings"

	"coldwright/machine/circuit"
	"coldwright/machine/reading"
)

// DiagramWords are the words on and beside the pressure–enthalpy diagram.
type DiagramWords struct {
	Title, Section           string
	Superheat, Subcooling    string // short, before a number
	Vapour                   string // after a share: "23 % vapour"
	State, Healthy           string // head of the table's first column; after the name of a state
	Dew, Bubble              string // before a temperature
	To                       string // between the ends of a range
	DewAt, BubbleAt          string // rows of the table
	CoilHeat, Work           string
	Enthalpy                 string // name of the axis
	Read, Band, BandDesign   string // what solid and hatched mean; BandDesign when only the design stands behind the band
	Lines                    string // what the other lines mean
	LinesShort               string // on paper
	Counted, CountedASHRAE   string // where enthalpy is counted from, in kJ/kg and in Btu/lb
	NotRead                  string // before a list of places
	Outside, TooHot, TooCold string // %: the name of a place
	OnBubble, OnDew          string
	corners                  map[circuit.Corner]string
	places                   map[reading.Place]string
}

var diagrams = map[Language]DiagramWords{
	"en": {
		Title:      "The cycle",
		Section:    "The cycle on the pressure–enthalpy diagram",
		Superheat:  "SH",
		Subcooling: "SC",
		Vapour:     "vapour",
		State:      "State",
		Healthy:    "healthy",
		Dew:        "Dew",
		Bubble:     "Bubble",
		To:         "to",
		DewAt:      "Dew at suction",
		BubbleAt:   "Bubble at head",
		CoilHeat:   "Taken up in the coil",
		Work:       "Added by the compressor",
		Enthalpy:   "enthalpy",
		Read:       "Solid: read.",
		Band:       "Hatched: this machine when healthy, at today's box and outside air; 9 of 10 healthy visits fall inside.",
		BandDesign: "Hatched, dashed edge: where the design puts this machine at today's box and outside air; no healthy visit is known yet.",
		Lines: "Dome: bubble left, dew right. SH: superheat over dew. SC: subcooling under bubble. Thin: equal temperature. Dotted: " +
			"equal entropy.",
		LinesShort:    "Dome: bubble left, dew right. SH: superheat over dew. SC: subcooling under bubble.",
		Counted:       "Enthalpy is 200 kJ/kg in saturated liquid at 0 °C.",
		CountedASHRAE: "Enthalpy is 0 in saturated liquid at −40 °F.",
		NotRead:       "Not read, so its part is left out: ",
		Outside:       "%: outside the data of this refrigerant; its part is left out.",
		TooHot:        "%: hotter than the head allows, so it may hold vapour; its part is left out.",
		TooCold:       "%: colder than dew, so liquid may come along; its part is left out.",
		OnBubble:      "%: no subcooling read; drawn on the bubble line.",
		OnDew:         "%: no superheat read; drawn on the dew line.",
		corners: map[circuit.Corner]string{
			circuit.CoilIn:        "Into coil",
			circuit.CoilOut:       "Coil outlet",
			circuit.CompressorIn:  "Suction line",
			circuit.CompressorOut: "Discharge",
			circuit.LiquidOut:     "Liquid line",
		},
		places: map[reading.Place]string{
			reading.SuctionPressure:   "suction",
			reading.CoilPressure:      "coil pressure",
			reading.DischargePressure: "head",
			reading.LiquidPressure:    "liquid line pressure",
			reading.CoilOutletLine:    "coil outlet",
			reading.SuctionLine:       "suction line",
			reading.DischargeLine:     "discharge line",
			reading.LiquidLine:        "liquid line",
		},
	},
	"es": {
		Title:      "El ciclo",
		Section:    "El ciclo en el diagrama de presión y entalpía",
		Superheat:  "RC",
		Subcooling: "SE",
		Vapour:     "vapor",
		State:      "Estado",
		Healthy:    "normal",
		Dew:        "Rocío",
		Bubble:     "Burbuja",
		To:         "a",
		DewAt:      "Rocío en succión",
		BubbleAt:   "Burbuja en descarga",
		CoilHeat:   "Absorbido en el evaporador",
		Work:       "Añadido por el compresor",
		Enthalpy:   "entalpía",
		Read:       "Continuo: leído.",
		Band: "Rayado: esta máquina cuando trabaja bien, con la cámara y el aire exterior de hoy; 9 de cada 10 visitas sin falla " +
			"caen dentro.",
		BandDesign: "Rayado, borde a trazos: donde el diseño pone esta máquina con la cámara y el aire exterior de hoy; aún no se conoce " +
			"una visita sin falla.",
		Lines: "Campana: burbuja a la izquierda, rocío a la derecha. RC: recalentamiento sobre el rocío. SE: subenfriamiento bajo la " +
			"burbuja. Finas: igual temperatura. Punteadas: igual entropía.",
		LinesShort:    "Campana: burbuja a la izquierda, rocío a la derecha. RC: recalentamiento. SE: subenfriamiento.",
		Counted:       "La entalpía es 200 kJ/kg en líquido saturado a 0 °C.",
		CountedASHRAE: "La entalpía es 0 en líquido saturado a −40 °F.",
		NotRead:       "Sin leer, por eso falta su parte: ",
		Outside:       "%: fuera de los datos de este refrigerante; falta su parte.",
		TooHot:        "%: más caliente de lo que permite la presión de descarga, puede llevar vapor; falta su parte.",
		TooCold:       "%: más fría que el rocío, puede llevar líquido; falta su parte.",
		OnBubble:      "%: sin subenfriamiento leído; dibujada en la línea de burbuja.",
		OnDew:         "%: sin recalentamiento leído; dibujada en la línea de rocío.",
		corners: map[circuit.Corner]string{
			circuit.CoilIn:        "Entrada evap.",
			circuit.CoilOut:       "Salida evap.",
			circuit.CompressorIn:  "Succión",
			circuit.CompressorOut: "Descarga",
			circuit.LiquidOut:     "Líquido",
		},
		places: map[reading.Place]string{
			reading.SuctionPressure:   "presión de succión",
			reading.CoilPressure:      "presión del evaporador",
			reading.DischargePressure: "presión de descarga",
			reading.LiquidPressure:    "presión de líquido",
			reading.CoilOutletLine:    "salida del evaporador",
			reading.SuctionLine:       "línea de succión",
			reading.DischargeLine:     "línea de descarga",
			reading.LiquidLine:        "línea de líquido",
		},
	},
}

// DiagramLanguages lists the languages that Diagram knows.
func DiagramLanguages() []Language { return keysOf(diagrams) }

// Diagram returns the diagram's words; a language it does not know is English.
func Diagram(lang Language) DiagramWords {
	if w, ok := diagrams[lang]; ok {
		return w
	}
	return diagrams["en"]
}

// Corner is the short name of a state of the cycle.
func (w DiagramWords) Corner(c circuit.Corner) string { return w.corners[c] }

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
			unread = append(unread, w.places[g.Need])
			continue
		case circuit.OutsideData:
			form = w.Outside
		default:
			form = w.TooCold
			if g.Need == reading.LiquidLine {
				form = w.TooHot
			}
		}
		out = append(out, strings.Replace(form, "%", UpperFirst(w.places[g.Need]), 1))
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
