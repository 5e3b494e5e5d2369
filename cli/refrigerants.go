package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"coldwright/say/text"
	"coldwright/units"
	"coldwright/wire"
)

type refrigerantsCmd struct {
	JSON bool `name:"json" help:"One JSON document."`
}

// Run lists the refrigerants.
func (c *refrigerantsCmd) Run(env *Env) error {
	rows, err := wire.Refrigerants(func(err error) string { return said(physics(err)) })
	if err != nil {
		return physics(err)
	}
	if c.JSON {
		return printJSON(env.Stdout, rows)
	}
	// 80 columns: the composition goes on below itself. One substance has its name there, where people call it by one.
	const indent = 48
	fmt.Fprintf(env.Stdout, "%-13s%-10s%-6s%-7s%6s%5s %s\n", "designation", "kind", "grade", "safety", "GWP", "K", "name, or % by mass")
	for _, x := range rows {
		safety, warming, glide := "–", "–", "–"
		if x.Safety != nil {
			safety = x.Safety.Class
		}
		if len(x.GWP) > 0 {
			warming = units.Fixed(x.GWP[0].Value, 0)
		}
		if x.Glide != nil {
			glide = units.Fixed(*x.Glide, 1)
		}
		line := fmt.Sprintf("%-13s%-10s%-6s%-7s%6s%5s", x.Designation, x.Kind, x.Grade, safety, warming, glide)
		if name := text.RefrigerantName(x.Designation); name != "" {
			line += " " + name
		}
		if len(x.Composition) > 1 {
			for i, p := range x.Composition {
				word := " " + strings.TrimPrefix(p.Designation, "R-") + " " + units.Fixed(100*p.Mass, 1)
				if i < len(x.Composition)-1 {
					word += ","
				}
				if utf8.RuneCountInString(line)+len(word) > 80 {
					fmt.Fprintln(env.Stdout, line)
					line = strings.Repeat(" ", indent-1)
				}
				line += word
			}
		}
		fmt.Fprintln(env.Stdout, line)
	}
	_, err = fmt.Fprintln(env.Stdout, `
Grade: A every pair with a departure function, B every pair fitted, C and D
approximate. K: glide at 101.3 kPa. GWP: AR4. – is not on file. Safety groups
are from memory unless --json says otherwise. Without one on file take it as
flammable and toxic until its cylinder or the maker says otherwise.`)
	return err
}
