package phrase

import (
	"strconv"
	"strings"
	"unicode"

	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Name is the name of an enum value without the prefix of its enum: "REJECT",
// "PRE_DELIVERY". A number that the enum lacks is written in digits.
func Name(e protoreflect.Enum) string {
	d := e.Descriptor()
	value := d.Values().ByNumber(e.Number())
	if value == nil {
		return strconv.Itoa(int(e.Number()))
	}
	return strings.TrimPrefix(string(value.Name()), enumPrefix(d))
}

// Words writes an enum value as people say it: "hexagon socket", "VIN seen before".
func Words(e protoreflect.Enum) string {
	said := strings.ToLower(strings.ReplaceAll(Name(e), "_", " "))
	if rest, ok := strings.CutPrefix(said, "vin "); ok {
		return "VIN " + rest
	}
	return said
}

func enumPrefix(d protoreflect.EnumDescriptor) string {
	var b strings.Builder
	for i, c := range string(d.Name()) {
		if i > 0 && unicode.IsUpper(c) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToUpper(c))
	}
	return b.String() + "_"
}

// Phase says an occasion: "pre-delivery", "first service".
func Phase(p pb.Phase) string {
	if p == pb.Phase_PHASE_PRE_DELIVERY {
		return "pre-delivery"
	}
	return Words(p)
}

// Place says where on the machine a group is: "wheels and tyres".
func Place(g pb.Group) string { return Words(g) }

// Drive says what the tool grips, "hexagon socket", or "drive" where that is
// not stated.
func Drive(d pb.Drive) string {
	if d == pb.Drive_DRIVE_UNSPECIFIED {
		return "drive"
	}
	return Words(d)
}

// Locking says what keeps a fastener from coming loose, with its article:
// "medium-strength thread-locking fluid", "a lock washer". It is empty where
// nothing but the preload does.
func Locking(l pb.Locking) string {
	switch l {
	case pb.Locking_LOCKING_UNSPECIFIED:
		return ""
	case pb.Locking_LOCKING_THREADLOCK_MEDIUM:
		return "medium-strength thread-locking fluid"
	case pb.Locking_LOCKING_THREADLOCK_HIGH:
		return "high-strength thread-locking fluid"
	case pb.Locking_LOCKING_PREVAILING_TORQUE_NUT:
		return "a prevailing-torque nut"
	case pb.Locking_LOCKING_WASHER:
		return "a spring or wedge washer"
	case pb.Locking_LOCKING_JAM_NUT:
		return "a lock nut"
	}
	return "a " + Words(l)
}

// Lubrication says the state of a thread that is not clean and dry: "thread
// greased". For one that is, it is empty.
func Lubrication(l pb.Lubrication) string {
	switch l {
	case pb.Lubrication_LUBRICATION_UNSPECIFIED:
		return ""
	case pb.Lubrication_LUBRICATION_ANTI_SEIZE:
		return "anti-seize compound on the thread"
	}
	return "thread " + Words(l)
}

// Condition says a condition inside a sentence that has "with" before it: "the
// engine warm".
func Condition(c pb.Condition) string {
	if said, ok := conditions[c]; ok {
		return said
	}
	return Words(c)
}

var conditions = map[pb.Condition]string{
	pb.Condition_CONDITION_ENGINE_COLD:        "the engine cold",
	pb.Condition_CONDITION_ENGINE_WARM:        "the engine warm",
	pb.Condition_CONDITION_ON_WORK_STAND:      "the machine on a work stand",
	pb.Condition_CONDITION_ON_WHEELS:          "the machine on its wheels",
	pb.Condition_CONDITION_ON_SIDE_STAND:      "the machine on its side stand",
	pb.Condition_CONDITION_TYRES_COLD:         "the tyres cold",
	pb.Condition_CONDITION_TYRES_WARM:         "the tyres warm",
	pb.Condition_CONDITION_BARS_STRAIGHT:      "the bars straight",
	pb.Condition_CONDITION_BARS_LEFT_LOCK:     "the bars at the left lock",
	pb.Condition_CONDITION_BARS_RIGHT_LOCK:    "the bars at the right lock",
	pb.Condition_CONDITION_RIDER_OFF:          "no rider on it",
	pb.Condition_CONDITION_RIDER_ABOARD:       "the rider on it",
	pb.Condition_CONDITION_SUSPENSION_NEW:     "the suspension new",
	pb.Condition_CONDITION_SUSPENSION_SETTLED: "the suspension settled",
	pb.Condition_CONDITION_ENGINE_STOPPED:     "the engine stopped",
	pb.Condition_CONDITION_ENGINE_RUNNING:     "the engine running",
	pb.Condition_CONDITION_NORMAL_OIL:         "the engine on its normal oil",
	pb.Condition_CONDITION_DOUBLE_OIL:         "the engine on double oil",
	pb.Condition_CONDITION_BATTERY_AT_REST:    "the battery at rest",
	pb.Condition_CONDITION_BATTERY_CHARGING:   "the battery on charge",
}
