package web_test

import (
	"strings"
	"testing"
)

// R-134a at 0 °C, 292.8 kPa absolute, is 27.8 psig (NIST Chemistry WebBook, SRD 69); R-407C glides, R-134a does not.
func TestRefrigerants(t *testing.T) {
	d := open(t)
	d.get("/refrigerants").want(200, "R-404A", "R-1234yf", "R-125 44\u00a0%, R-143a 52\u00a0%, R-134a 4\u00a0%")
	d.get("/refrigerants?q=r+134").want(200, "R-134a").not("R-404A")
	d.get("/refrigerants?q=nothing").want(200, "0 with “nothing” in the name")
	d.get("/refrigerants/R-134a").want(200, "Safety class", "A1", "Saturation").not("Bubble,")
	d.get("/refrigerants/R-407C").want(200, "Bubble, psig", "Dew, psig", "Made of")
	d.get("/refrigerants/R-134a?p=27.8").want(200, "27.8 psig is 32.0 °F.")
	d.get("/refrigerants/R-134a?p=292.8kPa(a)").want(200, "27.8 psig is 32.0 °F.")
	d.get("/refrigerants/R-407C?p=60").want(200, "at the dew point: for superheat and TD", "at the bubble point: for subcooling")
	// What is typed stays, with what is wrong and what is allowed beside it.
	d.get("/refrigerants/R-134a?p=lots").want(422, `value="lots"`, "lots")
	d.get("/refrigerants/R-134a?p=9999").want(422, `value="9999"`, "does not reach this pressure")
	d.get("/refrigerants/R-134a?p=-40").want(422, `value="-40"`)
	d.get("/refrigerants/R-9999").want(404, "R-9999 is not on file")
	d.get("/refrigerants/" + strings.Repeat("R", 5000)).want(404)
}
