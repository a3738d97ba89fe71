package specdiff

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/snapgauge/snapgauge/service/phrase"
)

// planningLabels names, in the trade's words, what a plan's targets are computed
// from. A field that is not here goes by its own name.
var planningLabels = map[string]string{
	"planning.premix.ratio":                              "first tank, parts of fuel to one of oil",
	"planning.premix.first_tank_only":                    "pre-mix for the first tank only",
	"planning.premix.injected_ratio":                     "parts of fuel to one of injected oil",
	"planning.premix.fuel_characteristic":                "fill that is mixed",
	"planning.premix.oil":                                "oil of the pre-mix",
	"planning.rear_suspension.sprung_mass_kg":            "mass the rear suspension carries, kg",
	"planning.rear_suspension.rider_share":               "share of the rider's mass on the rear suspension",
	"planning.rear_suspension.motion_ratio":              "spring travel over wheel travel",
	"planning.rear_suspension.spring_rate_n_per_mm":      "rate of the shock spring fitted, N/mm",
	"planning.rear_suspension.available_rates_n_per_mm":  "shock springs that can be had, N/mm",
	"planning.rear_suspension.static_sag_characteristic": "static sag aimed at",
	"planning.rear_suspension.race_sag_characteristic":   "race sag aimed at",
	"planning.carburettor.main_jet":                      "main jet in the reference air",
	"planning.carburettor.numbering":                     "what the number of a jet counts",
	"planning.carburettor.reference.temperature_c":       "temperature of the reference air, °C",
	"planning.carburettor.reference.altitude_m":          "altitude of the reference air, m",
	"planning.carburettor.reference.humidity_percent":    "humidity of the reference air, %",
	"planning.carburettor.available_jets":                "main jets that can be had",
}

// planning compares what a plan's targets are computed from.
func (c *comparison) planning(d *change) {
	var order []string
	was, is := make(map[string]string), make(map[string]string)
	leaves(c.before.sheet.GetPlanning().ProtoReflect(), "planning", func(path, value string) {
		was[path] = value
		order = append(order, path)
	})
	leaves(c.after.sheet.GetPlanning().ProtoReflect(), "planning", func(path, value string) {
		is[path] = value
		order = append(order, path)
	})
	told := make(map[string]bool)
	for _, path := range order {
		if told[path] {
			continue
		}
		told[path] = true
		label := planningLabels[path]
		if label == "" {
			label = strings.NewReplacer("planning.", "", ".", ", ", "_", " ").Replace(path)
		}
		before, after := was[path], is[path]
		if strings.HasSuffix(path, "_characteristic") {
			before, after = c.before.name(before), c.after.name(after)
		}
		if was[path] != is[path] {
			d.field(path, label, before, after)
		}
	}
}

// leaves goes through the fields of a message that are set, and of the messages
// in it, in the order of the contract.
func leaves(m protoreflect.Message, path string, visit func(path, value string)) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		field := fields.Get(i)
		if !m.Has(field) {
			continue
		}
		at, v := path+"."+string(field.Name()), m.Get(field)
		switch {
		case field.IsList():
			items := make([]string, v.List().Len())
			for j := range items {
				items[j] = leaf(field, v.List().Get(j))
			}
			visit(at, strings.Join(items, ", "))
		case field.Message() != nil:
			leaves(v.Message(), at, visit)
		default:
			visit(at, leaf(field, v))
		}
	}
}

// leaf says a value that is not a list.
func leaf(field protoreflect.FieldDescriptor, v protoreflect.Value) string {
	switch {
	case field.Enum() != nil:
		return enumWord(field.Enum(), v.Enum())
	case field.Kind() == protoreflect.BoolKind:
		return sayYes(v.Bool())
	case field.Kind() == protoreflect.DoubleKind || field.Kind() == protoreflect.FloatKind:
		return fmt.Sprintf("%g", phrase.Round(v.Float(), mostDigits))
	}
	return v.String()
}

// enumWord says a value of an enum without the words that all its values begin
// with.
func enumWord(enum protoreflect.EnumDescriptor, n protoreflect.EnumNumber) string {
	value := enum.Values().ByNumber(n)
	if value == nil {
		return fmt.Sprint(n)
	}
	common := strings.TrimSuffix(string(enum.Values().Get(0).Name()), "UNSPECIFIED")
	return strings.ToLower(strings.ReplaceAll(strings.TrimPrefix(string(value.Name()), common), "_", " "))
}
