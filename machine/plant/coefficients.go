package plant

import (
	_ "embed"
	"fmt"
	"math"
	"slices"

	"coldwright/internal/strictjson"
	"coldwright/units"
)

//go:embed coefficients.json
var coefficientsFile []byte

// coefficient is one number of the model and where it is from.
type coefficient struct {
	Value    float64 `json:"value"`
	Unit     string  `json:"unit"`
	Means    string  `json:"means"`
	Evidence string  `json:"evidence"` // published, from memory, or judgement
	Source   string  `json:"source"`   // of a judgement: the reason
}

// Evidence a coefficient can rest on.
var evidence = []string{"published", "from memory", "judgement"}

// unitsOf turns the units of the file into those of the model.
var unitsOf = map[string]float64{
	"1": 1, "K": 1, "m": 1, "J/(kg K)": 1, "m³ per kg/s": 1,
	"°F": units.Fahr, "bar": units.Bar,
}

// coefficients are the numbers of the model, by block of the file.
type coefficients struct {
	airSide    struct{ exponent, covered float64 }
	condenser  struct{ backedUp float64 }
	compressor struct {
		polytropic, leakWork, bestRatio, bestRatioSmall, bestRatioConditioning, fall, fallSmall, fallConditioning float64
	}
	evaporator          struct{ floodedBulb, inside float64 }
	shortTube           struct{ a1, a2, a3, a4, a5, a6, a7, length, lnLength, most, lateShare float64 }
	liquidLine          struct{ beforeGlass, afterGlass float64 }
	suctionLine         struct{ heatCapacity, leastVapour float64 }
	lines               struct{ usual, usualClose, thicker, drier float64 }
	accumulator         struct{ drop, ntu, volume float64 }
	valve               struct{ shut, corner, overSetting, overOpening float64 }
	electronicValve     struct{ least, step, corner float64 }
	evaporatorRegulator struct{ band, shut, corner, openDrop, aheadOfShut float64 }
	crankcaseRegulator  struct{ width float64 }
	standing            struct{ vapour, gas float64 }
	current             struct{ idle float64 }
	design              struct {
		suctionNTU, suctionNTUFrozen, liquidCool, eta, shellLoss, clearance, valveMax, valveMaxElectronic, band float64
		suctionDrop, liquidDrop, lift, liftClose, ntuEvaporator, ntuIce, ntuCondenser, gamma                    float64
		etaSmall, etaConditioning, shellLossSmall, shellLossConditioning                                        float64
		clearanceSmall, clearanceConditioning                                                                   float64
		ntuConditioning, humidity, humidityConditioning                                                         float64
		superheat, desuperheat, subcool                                                                         float64
		condenser, evaporator, liquid, liquidClose, suction, suctionClose, receiver, reserve                    float64
	}
	spread struct {
		box, ambient, td, split, superheatRatio, suctionGain, liquidCooling, efficiency, valveReserve float64
		suctionDrop, flashExponent, coilNTU, condenserNTU, headSet, humidity, regulatorSetting        float64
		suctionDropStated, suctionGainStated                                                          float64
	}
}

// signed are the blocks whose numbers may be below zero: constants of a published fit.
var signed = map[string]bool{"short_tube": true}

// places says where each coefficient of the file goes.
func (c *coefficients) places() map[string]map[string]*float64 {
	d, s := &c.design, &c.spread
	return map[string]map[string]*float64{
		"air_side":  {"exponent": &c.airSide.exponent, "covered": &c.airSide.covered},
		"condenser": {"backed_up": &c.condenser.backedUp},
		"compressor": {
			"polytropic": &c.compressor.polytropic, "leak_work": &c.compressor.leakWork,
			"best_ratio": &c.compressor.bestRatio, "best_ratio_small": &c.compressor.bestRatioSmall,
			"best_ratio_conditioning": &c.compressor.bestRatioConditioning,
			"fall":                    &c.compressor.fall, "fall_small": &c.compressor.fallSmall,
			"fall_conditioning": &c.compressor.fallConditioning,
		},
		"short_tube": {
			"a1": &c.shortTube.a1, "a2": &c.shortTube.a2, "a3": &c.shortTube.a3, "a4": &c.shortTube.a4,
			"a5": &c.shortTube.a5, "a6": &c.shortTube.a6, "a7": &c.shortTube.a7, "length": &c.shortTube.length, "most_subcooling": &c.shortTube.most,
			"late_share": &c.shortTube.lateShare,
		},
		"evaporator":   {"flooded_bulb": &c.evaporator.floodedBulb, "inside": &c.evaporator.inside},
		"liquid_line":  {"before_glass": &c.liquidLine.beforeGlass, "after_glass": &c.liquidLine.afterGlass},
		"suction_line": {"heat_capacity": &c.suctionLine.heatCapacity, "least_vapour": &c.suctionLine.leastVapour},
		"valve": {
			"shut": &c.valve.shut, "corner": &c.valve.corner,
			"over_setting": &c.valve.overSetting, "over_opening": &c.valve.overOpening,
		},
		"electronic_valve": {"least": &c.electronicValve.least, "step": &c.electronicValve.step, "corner": &c.electronicValve.corner},
		"evaporator_regulator": {
			"band": &c.evaporatorRegulator.band, "shut": &c.evaporatorRegulator.shut, "corner": &c.evaporatorRegulator.corner,
			"open_drop": &c.evaporatorRegulator.openDrop, "ahead_of_shut": &c.evaporatorRegulator.aheadOfShut,
		},
		"crankcase_regulator": {"width": &c.crankcaseRegulator.width},
		"lines": {
			"usual": &c.lines.usual, "usual_close": &c.lines.usualClose, "thicker": &c.lines.thicker, "drier": &c.lines.drier,
		},
		"accumulator": {"drop": &c.accumulator.drop, "ntu": &c.accumulator.ntu, "volume": &c.accumulator.volume},
		"standing":    {"vapour": &c.standing.vapour, "gas": &c.standing.gas},
		"current":     {"idle": &c.current.idle},
		"design": {
			"suction_ntu": &d.suctionNTU, "suction_ntu_frozen": &d.suctionNTUFrozen, "liquid_cool": &d.liquidCool, "eta": &d.eta,
			"shell_loss": &d.shellLoss, "clearance": &d.clearance, "valve_max": &d.valveMax, "valve_max_electronic": &d.valveMaxElectronic,
			"eta_small": &d.etaSmall, "eta_conditioning": &d.etaConditioning, "shell_loss_small": &d.shellLossSmall,
			"shell_loss_conditioning": &d.shellLossConditioning, "clearance_small": &d.clearanceSmall,
			"ntu_conditioning": &d.ntuConditioning, "humidity": &d.humidity, "humidity_conditioning": &d.humidityConditioning,
			"clearance_conditioning": &d.clearanceConditioning,
			"band":                   &d.band, "suction_drop": &d.suctionDrop, "liquid_drop": &d.liquidDrop, "lift": &d.lift,
			"lift_close":     &d.liftClose,
			"ntu_evaporator": &d.ntuEvaporator, "ntu_ice": &d.ntuIce, "ntu_condenser": &d.ntuCondenser, "gamma": &d.gamma,
			"superheat_zone": &d.superheat, "desuperheat_zone": &d.desuperheat, "subcool_zone": &d.subcool,
			"volume_condenser": &d.condenser, "volume_evaporator": &d.evaporator, "volume_liquid": &d.liquid,
			"volume_liquid_close": &d.liquidClose, "volume_suction": &d.suction, "volume_suction_close": &d.suctionClose,
			"volume_receiver": &d.receiver, "reserve": &d.reserve,
		},
		"spread": {
			"box": &s.box, "ambient": &s.ambient, "td": &s.td, "split": &s.split, "superheat_ratio": &s.superheatRatio,
			"suction_gain": &s.suctionGain, "liquid_cooling": &s.liquidCooling, "efficiency": &s.efficiency,
			"valve_reserve": &s.valveReserve, "suction_drop": &s.suctionDrop, "flash_exponent": &s.flashExponent,
			"coil_ntu": &s.coilNTU, "condenser_ntu": &s.condenserNTU, "head_set": &s.headSet, "humidity": &s.humidity,
			"regulator_setting": &s.regulatorSetting, "suction_drop_stated": &s.suctionDropStated,
			"suction_gain_stated": &s.suctionGainStated,
		},
	}
}

// coef is what the file says; nothing writes it after the program has started.
var coef = func() coefficients {
	c, err := parseCoefficients(coefficientsFile)
	if err != nil {
		panic(err) // the file is part of the program, and its test reads it
	}
	return c
}()

// parseCoefficients reads the file strictly: every coefficient of the model once, none besides, each with its unit,
// what it means, and a source or the reason for a judgement.
func parseCoefficients(text []byte) (coefficients, error) {
	var c coefficients
	var file struct {
		Schema string                            `json:"schema"`
		Blocks map[string]map[string]coefficient `json:"blocks"`
	}
	if err := strictjson.Decode(text, &file); err != nil {
		return c, fmt.Errorf("plant coefficients: %w", err)
	}
	if file.Schema != "coldwright-plant-1" {
		return c, fmt.Errorf("plant coefficients: schema %q", file.Schema)
	}
	places := c.places()
	for block, rows := range file.Blocks {
		for key, row := range rows {
			to := places[block][key]
			unit, known := unitsOf[row.Unit]
			switch {
			case to == nil:
				return c, fmt.Errorf("plant coefficients: %s: %s is not one of the model's", block, key)
			case !known:
				return c, fmt.Errorf("plant coefficients: %s: %s: unit %q", block, key, row.Unit)
			case !(row.Value > 0 || row.Value < 0 && signed[block]) || math.IsInf(row.Value, 0):
				return c, fmt.Errorf("plant coefficients: %s: %s: %g must be above zero", block, key, row.Value)
			case row.Means == "" || row.Source == "":
				return c, fmt.Errorf("plant coefficients: %s: %s: what it means and its source are required", block, key)
			case !slices.Contains(evidence, row.Evidence):
				return c, fmt.Errorf("plant coefficients: %s: %s: evidence %q; allowed: %q", block, key, row.Evidence, evidence)
			}
			*to = row.Value * unit
		}
	}
	for block, keys := range places {
		for key := range keys {
			if _, ok := file.Blocks[block][key]; !ok {
				return c, fmt.Errorf("plant coefficients: %s: %s is missing", block, key)
			}
		}
	}
	c.shortTube.lnLength = math.Log(c.shortTube.length)
	return c, nil
}
