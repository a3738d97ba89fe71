package auditreport

import (
	"math"

	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// harms end an element, an attribute, a style or a line, turn the order of words
// around, or are no text at all.
var harms = []string{
	`<script>alert(1)</script>`,
	`"><img src=https://evil.invalid/x onerror=alert(1)>`,
	`</style><style>*{background:url(https://evil.invalid/y)}</style>`,
	`</title></svg><b onclick='alert(1)'>`,
	`javascript:alert(1)`,
	"\u202egnp.exe\u202c \u2066turned\u2069",
	"nul\x00bell\x07esc\x1b[31m",
	"{{.}} ${1} <!-- --> ]]> &amp; &#x3c;",
	"מוסך בעמק 12 ورشة",
	"a-very-long-name-without-any-place-to-break-a-line-that-goes-on-and-on-and-on-and-on-and-on-and-on",
}

// spoil sets every text of a message, and of those in it, to something harmful,
// and some of the numbers to what no number is.
func spoil(s *pb.AuditSummary) *pb.AuditSummary {
	n := 0
	next := func() int { n++; return n }
	var walk func(m protoreflect.Message)
	spoilt := func(f protoreflect.FieldDescriptor, v protoreflect.Value) protoreflect.Value {
		switch {
		case f.Kind() == protoreflect.StringKind:
			return protoreflect.ValueOfString(harms[next()%len(harms)])
		case f.Kind() == protoreflect.DoubleKind && next()%5 == 0:
			return protoreflect.ValueOfFloat64([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e308, -1e308}[n/5%5])
		}
		return v
	}
	walk = func(m protoreflect.Message) {
		fields := m.Descriptor().Fields()
		for i := range fields.Len() {
			f := fields.Get(i)
			if !m.Has(f) {
				continue
			}
			v := m.Get(f)
			switch {
			case f.IsList():
				for j := range v.List().Len() {
					if f.Message() != nil {
						walk(v.List().Get(j).Message())
					} else {
						v.List().Set(j, spoilt(f, v.List().Get(j)))
					}
				}
			case f.Message() != nil:
				if f.Message().FullName() != "google.protobuf.Timestamp" {
					walk(v.Message())
				}
			default:
				m.Set(f, spoilt(f, v))
			}
		}
	}
	walk(s.ProtoReflect())
	return s
}
