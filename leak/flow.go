package leak

import (
	"math"

	"coldwright/gasflow"
	"coldwright/units"
)

// Through is what one leak passes at another pressure and with another gas, as a factor on its throughput at running
// pressure: the same hole by the flow law of [gasflow.Hole], as in the tests.
//
//   - in: q at running pressure, Pa m³/s; running and present absolute pressure and that of the air, Pa; the gas then
//     and now
//   - out: factor ≥ 0; 0 when nothing presses outwards now; 1 when nothing has changed
//   - errors: none; a running pressure less than 20 kPa above the air's counts as that: such a side loses its gas
//     while the machine stands (judgement)
//   - assumes: as [gasflow.Hole.Flow]; vapour at the leak
//   - source: [gasflow.Hole.Flow]
func Through(q, pRun, pNow, pAmb float64, run, now gasflow.Gas) float64 {
	pRun = math.Max(pRun, pAmb+20*units.Kilo)
	was, is := gasflow.Drive{Gas: run, Inside: pRun, Outside: pAmb}, gasflow.Drive{Gas: now, Inside: pNow, Outside: pAmb}
	flow := gasflow.FromThroughput(q, gasflow.Room)
	if was == is || !(flow > 0) {
		return 1
	}
	return float64(gasflow.HoleOf(flow, was).Flow(is) / flow)
}

// throughput of a loss in grams a year, Pa m³/s at 20 °C.
func throughput(grams, molarMass float64) float64 {
	return float64(gasflow.PerYear(grams, molarMass).Throughput(gasflow.Room))
}
