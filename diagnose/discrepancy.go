package diagnose

import (
	_ "embed"
	"fmt"
	"math"
	"slices"

	"coldwright/internal/strictjson"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/num"
	"coldwright/refrigerant"
)

// A machine that the model fits at one point strays from it elsewhere: its coil balances a little otherwise in the heat,
// its compressor loses more at a high ratio. So TD, split and efficiency are not one value each but a value at the
// design point and a slope on either side of it, of which nothing is known but how large they are on published machines.
// What strays so moves all readings together, as the plant has them. A healthy visit elsewhere than today teaches slopes;
// how much one machine's slopes are above another's is summed over.

// axis is what a distance from the design point is along.
type axis int

const (
	alongAmbient axis = iota // K
	alongBox                 // K
	alongRatio               // ln of the pressure ratio
)

var axisWords = []string{"ambient", "box", "ratio"}

// slope is a design value that strays along an axis, to one side of the design point.
type slope struct {
	of    int
	along axis
	above bool
}

// slopes are all of them, in their order as hidden values of the machine.
var slopes = [...]slope{
	{plant.NTD, alongAmbient, false},
	{plant.NTD, alongAmbient, true},
	{plant.NTD, alongBox, false},
	{plant.NTD, alongBox, true},
	{plant.NSplit, alongAmbient, false},
	{plant.NSplit, alongAmbient, true},
	{plant.NSplit, alongBox, false},
	{plant.NSplit, alongBox, true},
	{plant.NEta, alongRatio, false},
	{plant.NEta, alongRatio, true},
}

const numSlopes = len(slopes)

// straying is the design values that have slopes.
var straying = [...]int{plant.NTD, plant.NSplit, plant.NEta}

// inadequacy is what discrepancy.json says of the machines of an application.
type inadequacy struct {
	sd         [numSlopes]float64
	coilOutlet [2]float64 // K per K of air outside, below and above, of a machine with an orifice
}

//go:embed discrepancy.json
var discrepancyFile []byte

// inadequacies by application and the nodes of their scale; nothing writes them after the program has started.
var inadequacies, scales = func() (map[reading.Application]inadequacy, [3]node) {
	a, s, err := parseDiscrepancy(discrepancyFile)
	if err != nil {
		panic(err) // the file is part of the program, and its test reads it
	}
	return a, s
}()

// node is a scale of one machine with its weight: three points of Gauss and Hermite over its logarithm, of mean square 1.
type node struct{ square, weight float64 }

func scaleNodes(spread float64) (out [3]node) {
	mean := 0.0
	for k, w := range [3]float64{1.0 / 6, 2.0 / 3, 1.0 / 6} {
		out[k] = node{math.Exp(2 * spread * math.Sqrt(3) * float64(k-1)), w}
		mean += w * out[k].square
	}
	for k := range out {
		out[k].square /= mean
	}
	return out
}

// parseDiscrepancy reads the file strictly: every design value that strays, along its axes, once for every application,
// with its evidence and its source or the reason of a judgement.
func parseDiscrepancy(text []byte) (map[reading.Application]inadequacy, [3]node, error) {
	var file struct {
		Schema string `json:"schema"`
		Means  string `json:"means"`
		Scale  struct {
			Spread   float64 `json:"spread"`
			Evidence string  `json:"evidence"`
			Source   string  `json:"source"`
		} `json:"scale"`
		Rows []struct {
			Applications []string `json:"applications"`
			Quantity     string   `json:"quantity"`
			Expansion    string   `json:"expansion"`
			Along        string   `json:"along"`
			Below        float64  `json:"below"`
			Above        float64  `json:"above"`
			Evidence     string   `json:"evidence"`
			Source       string   `json:"source"`
		} `json:"rows"`
	}
	var none [3]node
	if err := strictjson.Decode(text, &file); err != nil {
		return nil, none, fmt.Errorf("discrepancy: %w", err)
	}
	if file.Schema != "coldwright-discrepancy-1" {
		return nil, none, fmt.Errorf("discrepancy: schema %q", file.Schema)
	}
	if !(file.Scale.Spread > 0 && file.Scale.Spread < 2) {
		return nil, none, fmt.Errorf("discrepancy: scale: spread %g", file.Scale.Spread)
	}
	if err := sourced(file.Scale.Evidence, file.Scale.Source); err != nil {
		return nil, none, fmt.Errorf("discrepancy: scale: %w", err)
	}
	out := map[reading.Application]inadequacy{}
	for _, r := range file.Rows {
		at := r.Quantity + ", " + r.Along
		along := axis(slices.Index(axisWords, r.Along))
		of, known := quantities[r.Quantity]
		coil := r.Quantity == reading.CoilOutletLine.String() && r.Expansion == reading.Orifice.String() && along == alongAmbient
		switch {
		case along < 0 || !coil && (!known || r.Expansion != ""):
			return nil, none, fmt.Errorf("discrepancy: %s: not known to stray so", at)
		case !(r.Below > 0 && r.Above > 0):
			return nil, none, fmt.Errorf("discrepancy: %s: below %g, above %g", at, r.Below, r.Above)
		}
		if err := sourced(r.Evidence, r.Source); err != nil {
			return nil, none, fmt.Errorf("discrepancy: %s: %w", at, err)
		}
		for _, word := range r.Applications {
			a, err := reading.ParseApplication(word)
			if err != nil || a == reading.ApplicationUnknown {
				return nil, none, fmt.Errorf("discrepancy: %s: %q: no such application", at, word)
			}
			x, found := out[a], coil
			side := [2]float64{r.Below, r.Above}
			if coil {
				x.coilOutlet = side
			}
			for k, s := range slopes {
				if coil || s.of != of || s.along != along {
					continue
				}
				i := 0
				if s.above {
					i = 1
				}
				if x.sd[k] != 0 {
					return nil, none, fmt.Errorf("discrepancy: %s: %s: twice", word, at)
				}
				x.sd[k], found = side[i], true
			}
			if !found {
				return nil, none, fmt.Errorf("discrepancy: %s: not known to stray so", at)
			}
			out[a] = x
		}
	}
	for _, word := range reading.ApplicationWords() {
		a, err := reading.ParseApplication(word)
		if err != nil {
			return nil, none, err
		}
		for k, v := range out[a].sd {
			if v == 0 {
				return nil, none, fmt.Errorf("discrepancy: %s: slope %d is missing", word, k)
			}
		}
	}
	return out, scaleNodes(file.Scale.Spread), nil
}

// distances says how far from the design point a day is, on either side of each axis as the slopes have them.
func distances(e *evidence, m reading.Resolved, f *refrigerant.Fit) (phi [numSlopes]float64) {
	ratio := func(box, ambient float64) float64 {
		condensing := ambient + float64(m.Split)
		if m.HeadControl != reading.HeadNone && m.HeadControl != reading.HeadUnknown {
			condensing = math.Max(condensing, float64(m.HeadSet))
		}
		return math.Log(f.DewT(condensing) / f.DewT(box-float64(m.TD)))
	}
	by := [...]float64{
		alongAmbient: e.ambT - float64(m.Ambient),
		alongBox:     e.boxT - float64(m.Box),
		alongRatio:   ratio(e.boxT, e.ambT) - ratio(float64(m.Box), float64(m.Ambient)),
	}
	const most = 60 // K: no machine works farther away, whatever was typed
	for k, s := range slopes {
		d := by[s.along]
		if !s.above {
			d = -d
		}
		if d > 0 { // false for what is no number
			phi[k] = math.Min(d, most)
		}
	}
	return phi
}

// coilOutletStrays is how far superheat after an orifice strays beside all else, K.
func coilOutletStrays(e *evidence, m reading.Resolved) float64 {
	if m.Expansion != reading.Orifice || !e.ambOK {
		return 0
	}
	side := inadequacies[m.Application].coilOutlet
	if d := e.ambT - float64(m.Ambient); d > 0 {
		return side[1] * d
	} else {
		return -side[0] * d
	}
}

// numHidden is the design values at the design point, and their slopes.
const numHidden = plant.NumNuisances + numSlopes

// hidden is what is known of a machine: design values at its design point and their slopes, jointly normal.
type hidden struct {
	mean [numHidden]float64
	cov  [numHidden * numHidden]float64
}

// newHidden takes the design values from a prior in which they are independent, and slopes as those of the application.
func newHidden(p *prior, of inadequacy) *hidden {
	const N = plant.NumNuisances
	var s hidden
	for i := range N {
		s.mean[i] = p.mean[i]
		s.cov[i*numHidden+i] = p.l[i*N+i] * p.l[i*N+i]
	}
	for k, sd := range of.sd {
		s.cov[(N+k)*numHidden+N+k] = sd * sd
	}
	return &s
}

// seen is the covariance of every hidden value with each design value as it is on a day.
func (s *hidden) seen(phi *[numSlopes]float64) *[numHidden * plant.NumNuisances]float64 {
	const N = plant.NumNuisances
	var ph [numHidden * N]float64
	for r := range numHidden {
		copy(ph[r*N:(r+1)*N], s.cov[r*numHidden:r*numHidden+N])
		for k, d := range phi {
			if d != 0 {
				ph[r*N+slopes[k].of] += d * s.cov[r*numHidden+N+k]
			}
		}
	}
	return &ph
}

// on is what is known of the design values on a day: mean and covariance.
func (s *hidden) on(phi *[numSlopes]float64) (mean [plant.NumNuisances]float64, c [plant.NumNuisances * plant.NumNuisances]float64) {
	const N = plant.NumNuisances
	ph := s.seen(phi)
	copy(c[:], ph[:N*N])
	copy(mean[:], s.mean[:N])
	for k, d := range phi {
		if d == 0 {
			continue
		}
		i := slopes[k].of
		mean[i] += d * s.mean[N+k]
		for j := range N {
			c[i*N+j] += d * ph[(N+k)*N+j]
		}
	}
	return mean, c
}

// prior is what is known of a machine on a day; box, air outside and humidity are as that day's own prior has them.
func (s *hidden) prior(phi *[numSlopes]float64, day *prior) (p prior, ok bool) {
	const N = plant.NumNuisances
	mean, c := s.on(phi)
	for _, i := range ofTheDay {
		for j := range N {
			c[i*N+j], c[j*N+i] = 0, 0
		}
		mean[i], c[i*N+i] = day.mean[i], day.l[i*N+i]*day.l[i*N+i]
	}
	if !num.Cholesky(N, c[:]) {
		return *day, false
	}
	for i := range N {
		for j := i + 1; j < N; j++ {
			c[i*N+j] = 0
		}
	}
	p.mean, p.l = mean, c
	return p, true
}

// learn takes what a day taught of the design values as they were then: mean and covariance before and after.
//
//   - source: conditioning of a joint normal on one of its parts being known no better than a normal (Jeffrey's rule)
func (s *hidden) learn(phi *[numSlopes]float64, mean *[plant.NumNuisances]float64, after []float64) bool {
	const N = plant.NumNuisances
	was, before := s.on(phi)
	ph := s.seen(phi)
	// What belongs to the day teaches nothing: taken for known and unmoved.
	shift := [N]float64{}
	for i := range N {
		shift[i] = mean[i] - was[i]
	}
	less := before
	for i := range N {
		for j := range N {
			less[i*N+j] -= after[i*N+j]
		}
	}
	for _, i := range ofTheDay {
		shift[i] = 0
		for j := range N {
			before[i*N+j], before[j*N+i], less[i*N+j], less[j*N+i] = 0, 0, 0, 0
		}
		before[i*N+i] = 1
		for r := range numHidden {
			ph[r*N+i] = 0
		}
	}
	if !num.Cholesky(N, before[:]) {
		return false
	}
	var gain, g [numHidden * N]float64
	for r := range numHidden {
		copy(gain[r*N:], ph[r*N:(r+1)*N])
		num.CholeskySolve(N, before[:], gain[r*N:(r+1)*N])
		for i := range N {
			s.mean[r] += gain[r*N+i] * shift[i]
			for j := range N {
				g[r*N+j] += gain[r*N+i] * less[i*N+j]
			}
		}
	}
	for r := range numHidden {
		for q := range numHidden {
			for j := range N {
				s.cov[r*numHidden+q] -= g[r*N+j] * gain[q*N+j]
			}
		}
	}
	return true
}

// today takes the machine to where it is today; day says what is known of box, air outside and humidity.
func (q *problem) today(day *prior) {
	phi := distances(&q.e, q.m, q.f)
	p, ok := q.of.prior(&phi, day)
	if ok {
		q.p, q.scale = p, newScale(q.of, &phi, &p)
	}
}

// scale sums over how far this machine strays, one factor for all its slopes. In the parameters' space the machines of
// each node are normal like the middle ones but for three directions.
type scale struct {
	n    int // directions that matter; 0: near the design point, where a scale says nothing
	u    [len(straying)][maxParams]float64
	less [len(scales)][len(straying)]float64 // precision along each direction, less one
	ln   [len(scales)]float64                // weight and volume of each node
}

// newScale finds the directions from the covariance that slopes add to the design values on a day, G, within the prior
// L Lᵀ of that day: eigenvectors of L⁻¹ G L⁻ᵀ.
func newScale(s *hidden, phi *[numSlopes]float64, p *prior) (out scale) {
	const N, M = plant.NumNuisances, len(straying)
	var g [M * M]float64
	for a := range straying {
		for b := range straying {
			for k, x := range slopes {
				for l, y := range slopes {
					if x.of == straying[a] && y.of == straying[b] {
						g[a*M+b] += phi[k] * phi[l] * s.cov[(N+k)*numHidden+N+l]
					}
				}
			}
		}
	}
	for a := range M {
		g[a*M+a] += 1e-12
	}
	if !num.Cholesky(M, g[:]) {
		return out
	}
	var w [M][N]float64 // columns of L⁻¹ E chol(G)
	for b := range M {
		for a := b; a < M; a++ {
			w[b][straying[a]] = g[a*M+b]
		}
		for i := range N {
			for j := range i {
				w[b][i] -= p.l[i*N+j] * w[b][j]
			}
			w[b][i] /= p.l[i*N+i]
		}
	}
	turnApart(&w)
	for k, n := range scales {
		out.ln[k] = math.Log(n.weight)
	}
	for b := range M {
		part := 0.0 // of the variance along this direction, what slopes add
		for i := range N {
			part += w[b][i] * w[b][i]
		}
		const little = 0.02
		if part < little {
			continue
		}
		long := math.Sqrt(part)
		for i := range N {
			out.u[out.n][i] = w[b][i] / long
		}
		part = math.Min(part, 0.95)
		for k, n := range scales {
			v := 1 + (n.square-1)*part
			out.less[k][out.n] = 1/v - 1
			out.ln[k] -= 0.5 * math.Log(v)
		}
		out.n++
	}
	return out
}

// turnApart turns three vectors among themselves until they stand at right angles (Jacobi, one-sided).
//
//   - source: Hestenes (1958), J. SIAM 6:51-90
func turnApart(w *[len(straying)][plant.NumNuisances]float64) {
	for range 8 {
		for a := range w {
			for b := a + 1; b < len(w); b++ {
				var aa, bb, ab float64
				for i := range w[a] {
					aa, bb, ab = aa+w[a][i]*w[a][i], bb+w[b][i]*w[b][i], ab+w[a][i]*w[b][i]
				}
				if ab*ab <= 1e-18*aa*bb {
					continue
				}
				t := 0.5 * math.Atan2(2*ab, aa-bb)
				sin, cos := math.Sincos(t)
				for i := range w[a] {
					w[a][i], w[b][i] = cos*w[a][i]+sin*w[b][i], cos*w[b][i]-sin*w[a][i]
				}
			}
		}
	}
}

// cost is what the scale adds to the negative log prior of parameters, beside half their square, and the precision it
// adds along each direction.
func (s *scale) cost(x *[maxParams]float64) (cost float64, more, along [len(straying)]float64) {
	if s.n == 0 {
		return 0, more, along
	}
	for j := range s.n {
		for i := range plant.NumNuisances {
			along[j] += s.u[j][i] * x[i]
		}
	}
	var ln [len(scales)]float64
	best := math.Inf(-1)
	for k := range scales {
		ln[k] = s.ln[k]
		for j := range s.n {
			ln[k] -= 0.5 * s.less[k][j] * along[j] * along[j]
		}
		best = math.Max(best, ln[k])
	}
	sum := 0.0
	for k := range scales {
		ln[k] = math.Exp(ln[k] - best)
		sum += ln[k]
	}
	for k := range scales {
		for j := range s.n {
			more[j] += ln[k] / sum * s.less[k][j]
		}
	}
	return -best - math.Log(sum), more, along
}

// bend adds the slope and the curvature of cost.
func (s *scale) bend(n int, x, g *[maxParams]float64, a []float64) {
	_, more, along := s.cost(x)
	for j := range s.n {
		for i := range plant.NumNuisances {
			g[i] += more[j] * along[j] * s.u[j][i]
			for k := range i + 1 {
				a[i*n+k] += more[j] * s.u[j][i] * s.u[j][k]
			}
		}
	}
}
