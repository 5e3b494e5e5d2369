package text

import "coldwright/machine/reading"

// wheres are what photos and notes belong to: the steps of a visit, the leak search, the plate.
var wheres = map[string]phrase{
	"":       {"Visit", "Visita"},
	"arrive": {"Arrival", "Llegada"},
	"look":   {"First look", "Primera mirada"},
	"time":   {"Pull-down", "Descenso de temperatura"},
	// The readings.
	"connect": {"Readings", "Lecturas"},
	"judge":   {"Judgement", "Juicio"},
	"repair":  {"Repair", "Reparación"},
	"search":  {"Leak search", "Búsqueda de fugas"},
	"tight":   {"Nitrogen test", "Prueba con nitrógeno"},
	"dry":     {"Vacuum", "Vacío"},
	"charge":  {"Charge", "Carga"},
	"cold":    {"Proof of the cold", "Prueba de frío"},
	"write":   {"Close", "Cierre"},
	"plate":   {"Plate", "Placa"},
}

// WhereKeys are the words a note or a photo can belong to, in the order of a visit.
func WhereKeys() []string {
	return []string{"arrive", "look", "time", "connect", "judge", "search", "repair", "tight", "dry", "charge", "cold", "write", "plate"}
}

// Where says what a photo or a note belongs to: a place of the leak catalogue or of the readings, else the step.
func Where(step, place string, l Language) string {
	out := saidOr(wheres, step, l)
	switch {
	case place == "":
		return out
	case step == "search":
		return out + ": " + LowerFirst(LeakPlace(place, l))
	}
	if p, err := reading.ParsePlace(place); err == nil {
		return out + ": " + LowerFirst(Place(p, l).Label)
	}
	return out + ": " + place
}

// Photo is what stands for a picture where it cannot be seen.
func Photo(step, place, caption string, l Language) string {
	if caption != "" {
		return caption
	}
	return phrase{"Photo", "Foto"}.in(l) + ", " + LowerFirst(Where(step, place, l))
}
