package workshop

import "slices"

// BatteryChemistry is the kind of cell in a starter or traction battery.
type BatteryChemistry int

// The chemistries that the tables know.
const (
	// LeadAcidFlooded has liquid electrolyte and filler plugs.
	LeadAcidFlooded BatteryChemistry = iota + 1
	// LeadAcidAGM is sealed, its electrolyte held in glass mat.
	LeadAcidAGM
	// LithiumIronPhosphate is LiFePO₄; four cells make a 12 V battery.
	LithiumIronPhosphate
	// LithiumNMC is lithium-ion with a nickel-manganese-cobalt cathode.
	LithiumNMC
)

// String names the chemistry.
func (c BatteryChemistry) String() string {
	switch c {
	case LeadAcidFlooded:
		return "lead-acid flooded"
	case LeadAcidAGM:
		return "lead-acid AGM"
	case LithiumIronPhosphate:
		return "lithium iron phosphate"
	case LithiumNMC:
		return "lithium NMC"
	}
	return "unknown"
}

type chargePoint struct{ cellV, percent float64 }

type cellFigures struct {
	// resting is the open-circuit voltage of a cell at restingC, rising.
	resting  []chargePoint
	restingC float64
	// restingVPerK is how much the open-circuit voltage rises with temperature.
	restingVPerK float64
	// plausible bounds of a resting cell; beyond, the reading is of another
	// battery or the battery is destroyed.
	lowV, highV float64

	chargeLowV, chargeHighV float64 // at chargeC
	chargeC                 float64
	chargeVPerK             float64
	chargeLowC, chargeHighC float64
}

// batteryFigures by chemistry. Sources: the flooded resting voltages are the
// battery industry's table (BCI) for 26.7 °C, as battery makers print it; the
// lead-acid temperature coefficient of 0.2 mV/K a cell is from memory (texts on
// lead-acid batteries); everything else is common practice, no source.
//
// Some printed tables take 4 mV/K off a cold 12 V reading. They repeat the
// hydrometer's correction, which is for the float's reading and not for the
// voltage of the cell.
var batteryFigures = map[BatteryChemistry]cellFigures{
	LeadAcidFlooded: {
		resting: []chargePoint{
			{11.89 / 6, 0}, {12.06 / 6, 25}, {12.24 / 6, 50}, {12.45 / 6, 75}, {12.65 / 6, 100},
		},
		restingC: 26.7, restingVPerK: 0.0002,
		lowV: 1, highV: 2.35,
		chargeLowV: 13.8 / 6, chargeHighV: 14.8 / 6, chargeC: 25, chargeVPerK: -0.005,
		chargeLowC: -20, chargeHighC: 50,
	},
	LeadAcidAGM: {
		resting: []chargePoint{
			{11.80 / 6, 0}, {12.00 / 6, 25}, {12.30 / 6, 50}, {12.60 / 6, 75}, {12.85 / 6, 100},
		},
		restingC: 25, restingVPerK: 0.0002,
		lowV: 1, highV: 2.35,
		chargeLowV: 13.8 / 6, chargeHighV: 14.7 / 6, chargeC: 25, chargeVPerK: -0.004,
		chargeLowC: -20, chargeHighC: 50,
	},
	LithiumIronPhosphate: {
		resting: []chargePoint{
			{10.0 / 4, 0}, {12.0 / 4, 9}, {12.5 / 4, 14}, {12.8 / 4, 17}, {12.9 / 4, 20},
			{13.0 / 4, 30}, {13.1 / 4, 40}, {13.2 / 4, 70}, {13.3 / 4, 90}, {13.4 / 4, 99}, {13.6 / 4, 100},
		},
		restingC: 25,
		lowV:     1, highV: 3.8,
		chargeLowV: 13.8 / 4, chargeHighV: 14.6 / 4, chargeC: 25,
		chargeLowC: 0, chargeHighC: 45,
	},
	LithiumNMC: {
		resting: []chargePoint{
			{3.00, 0}, {3.45, 5}, {3.68, 10}, {3.74, 20}, {3.77, 30}, {3.79, 40},
			{3.82, 50}, {3.87, 60}, {3.92, 70}, {3.98, 80}, {4.06, 90}, {4.20, 100},
		},
		restingC: 25,
		lowV:     1.5, highV: 4.35,
		chargeLowV: 4.10, chargeHighV: 4.20, chargeC: 25,
		chargeLowC: 0, chargeHighC: 45,
	},
}

func cellsOf(chemistry BatteryChemistry, cells int) (cellFigures, error) {
	f, ok := batteryFigures[chemistry]
	if !ok {
		return cellFigures{}, badInput("chemistry", float64(chemistry), "a known chemistry")
	}
	return f, inRange("cells", float64(cells), 1, 40)
}

// StateOfCharge returns the charge of a battery in per cent, 0 to 100, from the
// voltage restingV of all its cells in series after hours of rest without load
// or charge: six cells make a 12 V lead-acid battery, four a 12 V lithium iron
// phosphate one. tempC is the battery's own temperature, −30 to 60 °C; a
// lead-acid voltage is brought to the table's temperature first, the lithium ones
// change too little to matter. Between the points of the table it is a straight
// line; beyond its ends it is 0 or 100.
//
// A lithium iron phosphate battery lies within 0.1 V between 40 and 70 %: there
// the result is a guess. A voltage that no such battery has at rest is refused.
//
// Sources: the battery industry's table (BCI) for flooded cells; the others are
// common practice, no source.
func StateOfCharge(chemistry BatteryChemistry, cells int, restingV, tempC float64) (float64, error) {
	f, err := cellsOf(chemistry, cells)
	if err := firstErr(
		err,
		positive("restingV", restingV),
		inRange("tempC", tempC, -30, 60),
		inRange("restingV", restingV, f.lowV*float64(cells), f.highV*float64(cells)),
	); err != nil {
		return 0, err
	}
	cellV := restingV/float64(cells) - f.restingVPerK*(tempC-f.restingC)
	i, _ := slices.BinarySearchFunc(f.resting, cellV, func(p chargePoint, v float64) int {
		switch {
		case p.cellV < v:
			return -1
		case p.cellV > v:
			return 1
		}
		return 0
	})
	switch i {
	case 0:
		return 0, nil
	case len(f.resting):
		return 100, nil
	}
	below, above := f.resting[i-1], f.resting[i]
	return below.percent + (above.percent-below.percent)*(cellV-below.cellV)/(above.cellV-below.cellV), nil
}

// RestingVoltage returns the voltage in V that a battery shows at rest with a
// charge of chargePercent: the inverse of [StateOfCharge], with the same
// parameters and sources.
func RestingVoltage(chemistry BatteryChemistry, cells int, chargePercent, tempC float64) (float64, error) {
	f, err := cellsOf(chemistry, cells)
	if err := firstErr(
		err,
		inRange("chargePercent", chargePercent, 0, 100),
		inRange("tempC", tempC, -30, 60),
	); err != nil {
		return 0, err
	}
	i := 1
	for i < len(f.resting)-1 && f.resting[i].percent < chargePercent {
		i++
	}
	below, above := f.resting[i-1], f.resting[i]
	cellV := below.cellV + (above.cellV-below.cellV)*(chargePercent-below.percent)/(above.percent-below.percent)
	return (cellV + f.restingVPerK*(tempC-f.restingC)) * float64(cells), nil
}

// ChargeBand is the voltage at the terminals in which a battery charges.
type ChargeBand struct {
	LowV, HighV float64
	// MayCharge is not set when the battery is too cold or too hot to be charged
	// at all: a lithium cell charged below freezing plates metal and can later
	// burn.
	MayCharge bool
}

// ChargingBand returns the voltage band in V in which a battery of a number of
// cells in series charges at its temperature tempC, −30 to 70 °C. A lead-acid
// band falls by 5 mV (flooded) or 4 mV (AGM) a cell and kelvin above 25 °C and
// rises below; the lithium bands do not move. Below the band it does not fill,
// above it gasses or is destroyed. With the engine running, the regulator's
// voltage at the battery is compared with it.
//
// Source: common practice, no source. The battery maker's figures govern.
func ChargingBand(chemistry BatteryChemistry, cells int, tempC float64) (ChargeBand, error) {
	f, err := cellsOf(chemistry, cells)
	if err := firstErr(err, inRange("tempC", tempC, -30, 70)); err != nil {
		return ChargeBand{}, err
	}
	shift := f.chargeVPerK * (tempC - f.chargeC)
	return ChargeBand{
		LowV:      (f.chargeLowV + shift) * float64(cells),
		HighV:     (f.chargeHighV + shift) * float64(cells),
		MayCharge: tempC >= f.chargeLowC && tempC <= f.chargeHighC,
	}, nil
}
