package workshop

// driveSize holds the tool sizes for one thread diameter, in millimetres.
type driveSize struct{ acrossFlats, socketKey float64 }

// driveSizes: 0 where the standard has none.
//
// Source: ISO 272:1982 as used by ISO 4014, ISO 4017 and ISO 4032 (across
// flats); ISO 4762:2004 (socket key). M3 to M30 compared with a published chart
// of both.
var driveSizes = map[float64]driveSize{
	1.6: {3.2, 1.5},
	2:   {4, 1.5},
	2.5: {5, 2},
	3:   {5.5, 2.5},
	4:   {7, 3},
	5:   {8, 4},
	6:   {10, 5},
	8:   {13, 6},
	10:  {16, 8},
	12:  {18, 10},
	14:  {21, 12},
	16:  {24, 14},
	18:  {27, 0},
	20:  {30, 17},
	22:  {34, 0},
	24:  {36, 19},
	27:  {41, 0},
	30:  {46, 22},
	33:  {50, 0},
	36:  {55, 27},
}

// HexAcrossFlats returns the spanner size in millimetres of an ordinary hexagon
// head or nut for a thread diameter. Hexagon flange bolts, which are common on
// motorcycles, and heads to older national standards (17 for M10, 19 for M12)
// have others: where the sheet or the part says so, that governs.
//
// Source: ISO 272:1982; ISO 4014:2011; ISO 4017:2014.
func HexAcrossFlats(diameterMM float64) (float64, error) {
	if s := driveSizes[diameterMM].acrossFlats; s != 0 {
		return s, nil
	}
	return 0, badInput("diameterMM", diameterMM, "a thread diameter of ISO 4014, such as 6, 8 or 10")
}

// SocketKey returns the hexagon key size in millimetres of a socket head cap
// screw for a thread diameter. Button, countersunk and low heads take a smaller
// key.
//
// Source: ISO 4762:2004, table 1.
func SocketKey(diameterMM float64) (float64, error) {
	if s := driveSizes[diameterMM].socketKey; s != 0 {
		return s, nil
	}
	return 0, badInput("diameterMM", diameterMM, "a thread diameter of ISO 4762, such as 6, 8 or 10")
}
