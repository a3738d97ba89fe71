package jobplan

import (
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// supplies collects what is used up, in the order first needed.
type supplies struct {
	list []*supply
	// mixed holds what a step uses besides what its own characteristic says.
	mixed map[string][]mixture
}

type supply struct {
	*pb.Consumable
	volumeML float64
}

// mixture is a volume of a fluid.
type mixture struct {
	fluid    string
	volumeML float64
}

// alsoFor adds fluids that the step of a characteristic uses.
func (s *supplies) alsoFor(id string, fluids ...mixture) {
	if s.mixed == nil {
		s.mixed = make(map[string][]mixture)
	}
	s.mixed[id] = append(s.mixed[id], fluids...)
}

// forStep adds what a step uses up.
func (s *supplies) forStep(st *step) {
	id := st.GetCharacteristic()
	for _, m := range s.mixed[id] {
		s.entry(m.fluid, id).volumeML += m.volumeML
	}
	if capacity := st.c.GetCapacity(); capacity != nil {
		entry := s.entry(capacity.GetFluid(), id)
		if v, ok := st.figure.aim(millilitre); ok {
			entry.volumeML += v
		}
	}
	if fastener := st.c.GetFastener(); fastener != nil {
		s.forFastener(fastener, st)
	}
}

func (s *supplies) forFastener(fastener *pb.Fastener, st *step) {
	id := st.GetCharacteristic()
	if fastener.GetRenew() {
		s.entry(renewed(fastener)+" for "+phrase.LowerFirst(st.GetDisplayName()), id).Pieces += max(1, fastener.GetPieces())
	}
	switch fastener.GetLocking() {
	case pb.Locking_LOCKING_THREADLOCK_MEDIUM, pb.Locking_LOCKING_THREADLOCK_HIGH:
		s.entry(phrase.Locking(fastener.GetLocking()), id)
	}
	switch fastener.GetLubrication() {
	case pb.Lubrication_LUBRICATION_OILED:
		s.entry("engine oil for threads", id)
	case pb.Lubrication_LUBRICATION_GREASED:
		s.entry("grease for threads", id)
	case pb.Lubrication_LUBRICATION_ANTI_SEIZE:
		s.entry("anti-seize compound", id)
	}
}

// renewed says which part is new each time, as far as the sheet tells.
func renewed(fastener *pb.Fastener) string {
	switch fastener.GetLocking() {
	case pb.Locking_LOCKING_WASHER:
		return "new spring or wedge washer"
	case pb.Locking_LOCKING_TAB_WASHER:
		return "new tab washer"
	case pb.Locking_LOCKING_SPLIT_PIN:
		return "new split pin"
	case pb.Locking_LOCKING_PREVAILING_TORQUE_NUT:
		return "new prevailing-torque nut"
	}
	return "new fastener or washer"
}

// entry returns the supply of that name, and notes what it is for.
func (s *supplies) entry(name, characteristic string) *supply {
	i := slices.IndexFunc(s.list, func(e *supply) bool { return e.GetName() == name })
	if i < 0 {
		i = len(s.list)
		s.list = append(s.list, &supply{Consumable: &pb.Consumable{Name: name}})
	}
	entry := s.list[i]
	if !slices.Contains(entry.Characteristics, characteristic) {
		entry.Characteristics = append(entry.Characteristics, characteristic)
	}
	return entry
}

func (s *supplies) consumables() []*pb.Consumable {
	var list []*pb.Consumable
	for _, entry := range s.list {
		if entry.volumeML > 0 {
			entry.Amount = phrase.MeasureOf(millilitre, entry.volumeML).Dual(entry.volumeML)
		}
		list = append(list, entry.Consumable)
	}
	return list
}
