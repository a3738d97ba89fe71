package formula

// catalogue is every formula by topic and name.
var catalogue = compile(
	adjusters,
	air,
	battery,
	carburettor,
	chain,
	container,
	cooling,
	fasteners,
	fluids,
	gearing,
	measurement,
	suspension,
	torqueTools,
	tyres,
	unitsOfMeasure,
)

// Sources that several formulas name.
const (
	closedForm     = "closed form"
	commonPractice = "common practice, no source"
)
