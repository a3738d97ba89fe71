package shape

import (
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// The numbers that are defined come from the contract itself, so that one added
// there needs no change here.
var (
	phases          = membersOf[pb.Phase]()
	conditions      = membersOf[pb.Condition]()
	instrumentKinds = membersOf[pb.InstrumentKind]()
	stages          = membersOf[pb.Stage]()
	verdicts        = membersOf[pb.Verdict]()
	findingCodes    = membersOf[pb.FindingCode]()
	unitSystems     = membersOf[pb.UnitSystem]()
	reportViews     = membersOf[pb.ReportView]()
)

// members is a set of enum numbers from 0 to 1023.
type members[E enum] [16]uint64

type enum interface {
	~int32
	Descriptor() protoreflect.EnumDescriptor
}

// membersOf is the set of what an enum defines. A number too large for it is left
// out, so it is never taken for certain.
func membersOf[E enum]() *members[E] {
	var m members[E]
	values := E(0).Descriptor().Values()
	for i := range values.Len() {
		if e := E(values.Get(i).Number()); fits(e) {
			m.add(e)
		}
	}
	return &m
}

func fits[E enum](e E) bool { return e >= 0 && e < 1024 }

func (m *members[E]) add(e E) { m[e>>6] |= 1 << (e & 63) }

func (m *members[E]) has(e E) bool {
	return fits(e) && m[e>>6]>>(e&63)&1 != 0
}

// eachOnce reports whether every number of a list is defined, is not nought, and
// is there once.
func (m *members[E]) eachOnce(list []E) bool {
	var seen members[E]
	for _, e := range list {
		if e == 0 || !m.has(e) || seen.has(e) {
			return false
		}
		seen.add(e)
	}
	return true
}
