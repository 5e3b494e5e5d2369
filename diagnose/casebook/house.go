package casebook

import (
	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// houseSites is over how many sites the machines of a simulated house stand; those judged stand at the first.
const houseSites = 6

// Teach has the healthy visits of the first machines of a house teach what is usual there, and tells it to the visits
// that are to be judged, which are to other machines of that house.
//
//   - in: visits by which machines teach, in which view; the catalogue; the visits to be judged
//   - out: how many taught something
//   - assumes: nothing: a visit of an ill machine teaches as it reads
//   - source: [diagnose.LessonOf], [diagnose.House]
//   - cost: 3 ms a visit
func Teach(teaching []Visit, see View, cat *fault.Catalogue, judged []Visit) int {
	if len(teaching) == 0 {
		return 0
	}
	m, _ := teaching[0].today.Machine.Resolve()
	var at [houseSites][]*diagnose.Teacher
	n := 0
	for i := range teaching {
		v := &teaching[i]
		s := v.Sheet(see)
		s.HealthyVisits = nil
		if l, ok := diagnose.LessonOf([]reading.Sheet{s}, v.Fit, cat); ok {
			at[i%houseSites] = append(at[i%houseSites], diagnose.NewTeacher(m.Application, l))
			n++
		}
	}
	var sites []*diagnose.Site
	for _, teachers := range at {
		sites = append(sites, diagnose.NewSite(teachers))
	}
	l := diagnose.NewHouse(m.Application, sites).Learned(sites[0], nil)
	for i := range judged {
		judged[i].Learned = l
	}
	return n
}
