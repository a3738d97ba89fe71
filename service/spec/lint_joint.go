package spec

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// Friction coefficients of thread and bearing face that a torque is held
// against: the middle of what [workshop.Joint] names for the state of the thread.
// With less friction the same torque stretches more, but a sheet is refused only
// for what stretches the screw in ordinary assembly.
const (
	frictionDry        = 0.16
	frictionLubricated = 0.12
)

// torque checks that the upper torque limit does not load the screw beyond its
// proof load, past which it stays stretched (ISO 898-1).
func (l *linter) torque(path string, limits *pb.Limits, f *pb.Fastener) {
	if f.GetPropertyClass() == "" || limits.Upper == nil {
		return
	}
	thread, err := workshop.ParseThread(f.GetThread())
	if err != nil {
		return // told with the thread
	}
	unit, err := quantity.ParseUnit(limits.GetUnit())
	if err != nil || unit.Dimension() != dimensionTorque {
		return // told with the unit
	}
	class := f.GetPropertyClass()
	if screw, nut := matingClass[class]; nut {
		class = screw
	}
	if _, err := workshop.ProofStress(class, thread.DiameterMM); err != nil {
		l.add(path+".fastener.property_class", "got %q, want a class of ISO 898-1 such as 8.8, of ISO 898-2 such as 8, or none for a special part", f.GetPropertyClass())
		return
	}
	friction := frictionDry
	if f.GetLubrication() != pb.Lubrication_LUBRICATION_UNSPECIFIED || locksWithFluid(f.GetLocking()) {
		friction = frictionLubricated
	}
	joint := workshop.Joint{Thread: thread, ThreadFriction: friction, BearingFriction: friction}
	most, err := joint.TorqueAtProofShare(class, 1)
	if err != nil {
		l.add(path+".fastener", "%v", err)
		return
	}
	if most, err = newtonMetre.Convert(most, unit); err == nil && limits.GetUpper() > most {
		l.add(path+".limits.upper", "got %g, want at most %s: more takes %s of class %s beyond its proof load (friction %g)",
			limits.GetUpper(), quantity.Format(most, unit, 3), f.GetThread(), class, friction)
	}
}

// matingClass gives the screw that a nut of a class carries to its full proof
// load: the highest whose first number is the nut's.
//
// Source: ISO 898-2:2022, table on the combination of nuts with screws; from
// memory.
var matingClass = map[string]string{"5": "5.8", "6": "6.8", "8": "8.8", "9": "9.8", "10": "10.9", "12": "12.9"}

// locksWithFluid says whether the thread is wet with locking fluid, which
// lubricates until it has set.
func locksWithFluid(locking pb.Locking) bool {
	return locking == pb.Locking_LOCKING_THREADLOCK_MEDIUM || locking == pb.Locking_LOCKING_THREADLOCK_HIGH
}

var newtonMetre = quantity.MustUnit("N.m")
