package refrigerant_test

import (
	"errors"
	"fmt"

	"coldwright/refrigerant"
)

func ExampleLoad() {
	r, err := refrigerant.Load("448a")
	if err != nil {
		fmt.Println(err)
		return
	}
	grade, why := r.Grade()
	fmt.Println(r.Designation(), r.Kind(), "grade", grade, "-", why)
	for _, p := range r.Composition() {
		fmt.Printf("%s %.0f %%\n", p.Designation, 100*p.MassFraction)
	}
	// Output:
	// R-448A zeotrope grade B - every pair fitted to measurements
	// R-32 26 %
	// R-125 26 %
	// R-1234yf 20 %
	// R-134a 21 %
	// R-1234ze(E) 7 %
}

// Water's ice point is 0 °C; R-134a's published saturation pressure there is 292.80 kPa (Tillner-Roth and Baehr 1994).
func ExampleRefrigerant_DewT() {
	r, _ := refrigerant.Load("R-134a")
	e, err := r.DewT(273.15, refrigerant.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f kPa, liquid enthalpy %.1f kJ/kg\n", e.P/1e3, e.HLiquid/1e3)
	// Output: 292.80 kPa, liquid enthalpy 200.0 kJ/kg
}

// A pressure on the suction gauge means the dew temperature, one on the liquid line the bubble temperature.
func ExampleFit() {
	r, _ := refrigerant.Load("R-407C")
	f, err := r.Fit() // once; keep it
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("at 500 kPa: dew %.1f °C, bubble %.1f °C\n", f.DewP(500e3)-273.15, f.BubbleP(500e3)-273.15)
	_, h, _ := f.Vapour(500e3, 290)
	T, _, _ := f.VapourPH(500e3, h)
	fmt.Printf("there and back: %.2f K\n", T)
	// Output:
	// at 500 kPa: dew 2.4 °C, bubble -3.9 °C
	// there and back: 290.00 K
}

func ExampleBlend() {
	r, err := refrigerant.Blend([]refrigerant.Part{{Designation: "R-32", MassFraction: 0.5}, {Designation: "R-125", MassFraction: 0.5}})
	if err != nil {
		fmt.Println(err)
		return
	}
	g, err := r.GlideAt101()
	fmt.Printf("%s glides %.1f K\n", r.Designation(), g)
	// Output: R-32/R-125 glides 0.1 K
}

// Outside the published range there is an error that says what is allowed, never a number.
func ExampleRangeError() {
	r, _ := refrigerant.Load("R-290")
	_, err := r.StatePT(101325, 900, refrigerant.Options{})
	var out *refrigerant.RangeError
	fmt.Println(errors.As(err, &out), "-", err)
	// Output: true - R-290: temperature in K 900 is outside 85.525 to 650 (published validity of the equation)
}
