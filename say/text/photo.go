package text

import "coldwright/machine/reading"

// WhereKeys are the words a note or a photo can belong to, in the order of a visit.
func WhereKeys() []string {
	return []string{"arrive", "look", "time", "connect", "judge", "search", "repair", "tight", "dry", "charge", "cold", "write", "plate"}
}

// Where says what a photo or a note belongs to: a place of the leak catalogue or of the readings, else the step.
func Where(step, place string, l Language) string {
	out := saidOr(l.words().Wheres, step)
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
	return l.say("photo") + ", " + LowerFirst(Where(step, place, l))
}
