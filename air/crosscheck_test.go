//go:build crosscheck

package air

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"testing"

	"coldwright/internal/testkit"
)

// TestCrossCheck_HumidAir compares with the independent property library CoolProp, run live. That one is a real-gas
// formulation with enhancement factor, which explains what is allowed: 0.7 % of W,
// 0.15 kJ/kg and 0.3 % of enthalpy, 0.12 % of density.
func TestCrossCheck_HumidAir(t *testing.T) {
	var in bytes.Buffer
	rows := 0
	for _, p := range []float64{101325, 83400, 70000} {
		for _, tc := range []float64{-30, -18, -5, 2, 10, 20, 32, 40} {
			for _, rh := range []float64{0.2, 0.5, 0.9} {
				fmt.Fprintf(&in, "%g;%g;%g\n", tc+273.15, rh, p)
				rows++
			}
		}
	}
	cmd := exec.Command(cmp.Or(os.Getenv("COLDWRIGHT_PYTHON"), "python3"), "testdata/crosscheck.py")
	cmd.Stdin = &in
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("the reference library does not run: %v\n%s", err, stderr.String())
	}
	compared := 0
	sc := bufio.NewScanner(bytes.NewReader(out))
	for sc.Scan() {
		var q struct {
			T, RH, P, W, H, Rho float64
			Version             string
		}
		if err := json.Unmarshal(sc.Bytes(), &q); err != nil {
			t.Fatal(err)
		}
		if q.Version != "" {
			t.Logf("CoolProp %s", q.Version)
			continue
		}
		compared++
		s, err := FromRH(q.T, q.RH, q.P)
		if err != nil {
			t.Errorf("%+v: %v", q, err)
			continue
		}
		at := fmt.Sprintf("%.1f °C, %.0f %%, %.0f Pa: ", q.T-273.15, 100*q.RH, q.P)
		testkit.Near(t, at+"W", s.W, q.W, 0.007*q.W, "CoolProp")
		testkit.Near(t, at+"enthalpy", s.H, q.H, 150+0.003*abs(q.H), "CoolProp")
		testkit.Near(t, at+"density", s.Rho, q.Rho, 0.0012*q.Rho, "CoolProp")
	}
	if compared != rows {
		t.Errorf("compared %d of %d states", compared, rows)
	}
}

func abs(x float64) float64 { return max(x, -x) }
