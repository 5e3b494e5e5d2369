package refrigerant

import (
	"math"
	"testing"
)

// The figures of docs/performance.md: the benchmarks here are read by docs/performance.py, which asks another library the same.

var benchmarked = []string{"R-134a", "R-290", "R-744", "R-404A", "R-410A", "R-407C", "R-448A"}

const benchPoints = 64

// benchPoint is where a benchmark asks: saturation at p and at T, vapour at pv, Tv with its enthalpy and entropy.
// docs/performance.py makes the same.
type benchPoint struct{ p, T, pv, Tv, hv, sv float64 }

// points spreads pressures evenly in their logarithm, temperatures evenly, and shuffles the vapour's so that
// neighbours have little in common.
func points(b *testing.B, r *Refrigerant) *[benchPoints]benchPoint {
	b.Helper()
	pLo, pHi, TLo, THi, vLo, vHi := 100e3, 2e6, 240.0, 310.0, 200e3, 1e6
	if r.Designation() == "R-744" {
		pLo, pHi, TLo, THi, vLo, vHi = 1e6, 5e6, 240.0, 290.0, 1e6, 5e6
	}
	var all [benchPoints]benchPoint
	for i := range all {
		x := float64(i*37%benchPoints) / (benchPoints - 1)
		y := float64(i*23%benchPoints) / (benchPoints - 1)
		q := benchPoint{p: pLo * math.Pow(pHi/pLo, x), T: TLo + (THi-TLo)*x, pv: vLo * math.Pow(vHi/vLo, x), Tv: 320 + 30*y}
		s, err := r.StatePT(q.pv, q.Tv, Options{})
		if err != nil {
			b.Fatal(err)
		}
		q.hv, q.sv = s.H, s.S
		all[i] = q
	}
	return &all
}

// bench asks all points in turn. The sum keeps the compiler from leaving out what nobody reads.
func bench(b *testing.B, r *Refrigerant, name string, ask func(*benchPoint) float64) {
	at := points(b, r)
	b.Run(name, func(b *testing.B) {
		b.ReportAllocs()
		sum, i := 0.0, 0
		for b.Loop() {
			sum += ask(&at[i%benchPoints])
			i++
		}
		if math.IsNaN(sum) || math.IsInf(sum, 0) {
			b.Fatal("not a number")
		}
	})
}

func benchFit(b *testing.B, ask func(*Fit, *benchPoint) float64) {
	for _, n := range benchmarked {
		r := mustLoad(b, n)
		f, err := r.Fit()
		if err != nil {
			b.Fatal(err)
		}
		bench(b, r, n, func(q *benchPoint) float64 { return ask(f, q) })
	}
}

func benchExact(b *testing.B, ask func(*Refrigerant, *benchPoint) (float64, error)) {
	for _, n := range benchmarked {
		r := mustLoad(b, n)
		bench(b, r, n, func(q *benchPoint) float64 {
			v, err := ask(r, q)
			if err != nil {
				b.Fatal(err)
			}
			return v
		})
	}
}

func BenchmarkDewAtPressure(b *testing.B) {
	benchFit(b, func(f *Fit, q *benchPoint) float64 { return f.DewP(q.p) })
}

func BenchmarkBubbleAtPressure(b *testing.B) {
	benchFit(b, func(f *Fit, q *benchPoint) float64 { return f.BubbleP(q.p) })
}

func BenchmarkDewAtTemperature(b *testing.B) {
	benchFit(b, func(f *Fit, q *benchPoint) float64 { return f.DewT(q.T) })
}

// Vapour: density, enthalpy and entropy from the fit.
func BenchmarkFitPT(b *testing.B) {
	benchFit(b, func(f *Fit, q *benchPoint) float64 { rho, h, s := f.Vapour(q.pv, q.Tv); return rho + h + s })
}

// Vapour: temperature, density and entropy from the fit.
func BenchmarkFitPH(b *testing.B) {
	benchFit(b, func(f *Fit, q *benchPoint) float64 { T, rho, s := f.VapourPH(q.pv, q.hv); return T + rho + s })
}

// Vapour: temperature and enthalpy from the fit.
func BenchmarkFitPS(b *testing.B) {
	benchFit(b, func(f *Fit, q *benchPoint) float64 { T, h := f.VapourPS(q.pv, q.sv); return T + h })
}

func BenchmarkExactDewAtPressure(b *testing.B) {
	benchExact(b, func(r *Refrigerant, q *benchPoint) (float64, error) {
		e, err := r.DewP(q.p, Options{})
		return e.T, err
	})
}

func BenchmarkExactDewAtTemperature(b *testing.B) {
	benchExact(b, func(r *Refrigerant, q *benchPoint) (float64, error) {
		e, err := r.DewT(q.T, Options{})
		return e.P, err
	})
}

func BenchmarkStatePT(b *testing.B) {
	benchExact(b, func(r *Refrigerant, q *benchPoint) (float64, error) {
		s, err := r.StatePT(q.pv, q.Tv, Options{})
		return s.H, err
	})
}

func BenchmarkStatePH(b *testing.B) {
	benchExact(b, func(r *Refrigerant, q *benchPoint) (float64, error) {
		s, err := r.StatePH(q.pv, q.hv, Options{})
		return s.T, err
	})
}

func BenchmarkStatePS(b *testing.B) {
	benchExact(b, func(r *Refrigerant, q *benchPoint) (float64, error) {
		s, err := r.StatePS(q.pv, q.sv, Options{})
		return s.T, err
	})
}

// Building a fit, and how far it is off: in dew and bubble temperature, in temperature at pressure and enthalpy, in enthalpy.
func BenchmarkFit(b *testing.B) {
	for _, n := range benchmarked {
		r := mustLoad(b, n)
		b.Run(n, func(b *testing.B) {
			var f *Fit
			var err error
			for b.Loop() {
				if f, err = r.Fit(); err != nil {
					b.Fatal(err)
				}
			}
			e, err := f.MaxError(200)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(e.T*1e6, "µK-saturation")
			b.ReportMetric(e.PH*1e3, "mK-at-p-h")
			b.ReportMetric(e.H, "J/kg")
		})
	}
}
