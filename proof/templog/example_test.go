package templog_test

import (
	"fmt"
	"io"
	"strings"

	"coldwright/proof/templog"
)

// A logger's file with semicolons and decimal commas: when was it too warm?
func Example() {
	file := "Datum;Uhrzeit;Temperatur (°C)\n13.06.2026;12:00;3,0\n13.06.2026;12:10;6,0\n13.06.2026;12:20;4,0\n"
	open := func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(file)), nil }
	r, err := templog.Judge(open, templog.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	e := r.Excursions[0]
	fmt.Printf("above %.0f °C between %s and %s\n", r.Limit.C(), r.Stamp(e.Start.After), r.Stamp(e.End.Before))
	// Output: above 5 °C between 2026-06-13T12:00:00 and 2026-06-13T12:20:00
}
