package text

import "fmt"

// FoundKind names what a search found.
func FoundKind(kind string) string {
	switch kind {
	case "site":
		return "Site"
	case "machine":
		return "Machine"
	case "visit":
		return "Visit"
	}
	return "Entry"
}

// SearchHelp says what a search looks through.
const SearchHelp = "Names, addresses, customers, refrigerants, makers, serials, complaints, causes, work, leaks, cylinders, notes, " +
	"captions and advice are searched, by the beginnings of words. Fewer words find more."

// Learned is what the repairs so far mean for the base rates, in sentences. strength is how many repairs the shipped
// rates weigh as much as.
func Learned(repairs, strength int) string {
	switch {
	case repairs == 0:
		return "No repair has confirmed a cause yet, so the shipped rates hold. Name the cause at the end of a visit, and it counts from the " +
			"next day on."
	case repairs == 1:
		return fmt.Sprintf(
			"One repair has confirmed its cause. The shipped rates weigh as much as %d repairs, so it moves them little.",
			strength,
		)
	}
	return fmt.Sprintf(
		"%d repairs have confirmed their cause; the shipped rates weigh as much as %d. A visit is judged by what was confirmed before the "+
			"day it began.",
		repairs,
		strength,
	)
}

// ImportReason says why a line of a file was not taken.
func ImportReason(code, detail string) string {
	switch code {
	case "not_json":
		return "This line is no event: " + detail
	case "bad_event":
		return "This event breaks a rule: " + detail
	case "twice":
		return "The same event stands in the file before, with other content."
	case "other_content":
		return "An event with this id is here already, with other content."
	case "no_content":
		return "The picture or file of this event is neither here nor in the file to import."
	}
	return detail
}
