package render

import (
	"strconv"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Short is the name of an enum value without the prefix of its enum: "REJECT",
// "PRE_DELIVERY". A value that this program does not know is its number.
func Short(e protoreflect.Enum) string {
	values := e.Descriptor().Values()
	value := values.ByNumber(e.Number())
	if value == nil {
		return strconv.Itoa(int(e.Number()))
	}
	prefix, _ := strings.CutSuffix(string(values.ByNumber(0).Name()), "UNSPECIFIED")
	return strings.TrimPrefix(string(value.Name()), prefix)
}

// Words says an enum value in small letters: "first service".
func Words(e protoreflect.Enum) string {
	switch e {
	case pb.Phase_PHASE_PRE_DELIVERY:
		return "pre-delivery"
	case pb.Group_GROUP_FLUIDS:
		return "fluids and capacities"
	case pb.Group_GROUP_SUSPENSION:
		return "suspension, sag and seat height"
	case pb.Group_GROUP_ROUTING:
		return "routing of cables, hoses and harness"
	case pb.Locking_LOCKING_THREADLOCK_MEDIUM:
		return "thread-locking fluid, medium strength"
	case pb.Locking_LOCKING_THREADLOCK_HIGH:
		return "thread-locking fluid, high strength"
	case pb.Locking_LOCKING_WASHER:
		return "spring or wedge washer"
	case pb.Locking_LOCKING_PREVAILING_TORQUE_NUT:
		return "prevailing-torque nut"
	case pb.Lubrication_LUBRICATION_UNSPECIFIED:
		return "clean and dry"
	}
	return strings.ToLower(strings.ReplaceAll(Short(e), "_", " "))
}

// wordList says several enum values: "engine cold, on work stand".
func wordList[E protoreflect.Enum](values []E) string {
	said := make([]string, len(values))
	for i, v := range values {
		said[i] = Words(v)
	}
	return strings.Join(said, ", ")
}

func verdictStyle(v pb.Verdict) layout.Style {
	switch v {
	case pb.Verdict_VERDICT_ACCEPT:
		return layout.Green
	case pb.Verdict_VERDICT_REJECT:
		return layout.Red
	}
	return layout.Yellow
}

func severityStyle(s pb.Severity) layout.Style {
	switch s {
	case pb.Severity_SEVERITY_SAFETY:
		return layout.Red
	case pb.Severity_SEVERITY_DAMAGE:
		return layout.Orange
	case pb.Severity_SEVERITY_FUNCTION:
		return layout.Yellow
	}
	return layout.Blue
}

// lastPart is what follows the last slash of a resource name.
func lastPart(name string) string { return name[strings.LastIndexByte(name, '/')+1:] }

// revisionNumber takes {revision} out of specs/{spec}/revisions/{revision}.
func revisionNumber(name string) string {
	if _, n, ok := strings.Cut(name, "/revisions/"); ok {
		return n
	}
	return ""
}

// join puts what is not empty side by side.
func join(separator string, parts ...string) string {
	var said []string
	for _, p := range parts {
		if p != "" {
			said = append(said, p)
		}
	}
	return strings.Join(said, separator)
}
