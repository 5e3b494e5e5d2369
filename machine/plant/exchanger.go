package plant

import "math"

// exchanger is a liquid–suction heat exchanger of given effectiveness: the suction gas takes up
//
//	q = ε c_p (T_liquid − T_coil outlet)
//
// per kilogram and the liquid gives it off before expansion.
//
//   - assumes: the gas is the smaller capacity stream; equal flow on both sides; no loss to the surroundings
//   - limits: ε = 0 moves nothing; ε = 1 brings the gas to the liquid's temperature
//   - source: effectiveness of a heat exchanger (definition)
type exchanger struct{ effectiveness float64 }

func (x exchanger) fitted() bool { return x.effectiveness > 0 }

// exchangerIn is what the coil and the exchanger have to agree on.
type exchangerIn struct {
	cp      float64 // of the gas, J/(kg K)
	lift    float64 // liquid minus evaporating temperature, K
	td      float64 // box minus evaporating temperature, K
	hfg     float64 // what the coil evaporates without the exchanger, J/kg
	wetting float64 // share of the coil wetted = wetting·(hfg + q)/(mean + warming·q)
	mean    float64 // mean difference of the coil to its air without the exchanger, K
	warming float64 // its change per J/kg
	dry     float64 // conductance of the whole coil, were it dry, over the flow's heat capacity
}

// heat is what the suction gas takes up, J/kg. It cools the liquid, which wets more of the coil, which lowers the
// superheat: one equation in the superheat, solved by Newton.
func (x exchanger) heat(in exchangerIn) float64 {
	c := x.effectiveness * in.cp
	superheat := 0.0
	for range 20 {
		q := c * (in.lift - superheat)
		z := in.wetting * (in.hfg + q) / (in.mean + in.warming*q)
		if z >= 1 {
			return c * in.lift
		}
		e := math.Exp(-in.dry * (1 - z))
		step := (in.td*(1-e) - superheat) / (1 - in.td*e*in.dry*in.wetting*c/in.mean)
		superheat += step
		if math.Abs(step) < 1e-13*in.td {
			break
		}
	}
	return c * (in.lift - superheat)
}
