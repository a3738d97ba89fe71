package jobplan_test

import (
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/spec"
)

// benchSheet is a small machine on which each calculation can be tried.
const benchSheet = `
spec_id: bench-1-2026-eu
revision: 1
effective_time: 2026-01-01T00:00:00Z
change_note: First.
source_document: Bench, invented
invented: true
make: Bench
model: One
model_year: 2026
market: EU
vin: {patterns: ["0BN??????????????"]}
characteristics:
  - id: oil_fill
    display_name: Engine oil
    group: fluids
    limits: {lower: 0.8, upper: 1.1, nominal: 1, unit: L}
    capacity:
      fluid: Engine oil SAE 20W-50
      stand_lean_deg: 15
      # A box of 100 by 100 by 150 mm: 1 mm holds 10 mL.
      container:
        sections:
          - outline:
              - {y_mm: -50, z_mm: 0}
              - {y_mm: 50, z_mm: 0}
              - {y_mm: 50, z_mm: 150}
              - {y_mm: -50, z_mm: 150}
        length_mm: 100
        neck: {x_mm: 50, y_mm: 40, z_mm: 130}
        neck_radius_mm: 10
        margin_mm: 5
        pickup: {x_mm: 50, y_mm: 0, z_mm: 20}
    severity: damage
    required_in: [pre_delivery]
    source: Bench, invented
  - id: tyre
    display_name: Tyre pressure
    group: wheels_and_tyres
    limits: {lower: 1.9, upper: 2.1, nominal: 2, unit: bar}
    measured: {}
    reference_conditions: [tyres_cold]
    severity: safety
    caution: Take care.
    required_in: [pre_delivery]
    source: Bench, invented
  - id: lamp_works
    display_name: Headlamp works
    group: electrical
    inspection: {criterion: It lights.}
    severity: safety
    caution: Take care.
    required_in: [pre_delivery]
    source: Bench, invented
  - id: collar
    display_name: Preload
    group: suspension
    limits: {lower: 2, upper: 6, nominal: 4, unit: circ}
    adjuster:
      reference_position: spring just touched
      counted: in
      pitch_mm: 2
      mechanical_range: {lower: 0, upper: 10}
      step: 0.5
      moves: {characteristic: static, per_step: -4}
    severity: function
    source: Bench, invented
  # 100 N/mm at a motion ratio of 0.5 are 25 N/mm at the wheel; 8 mm of preload carry 400 N there.
  - id: static
    display_name: Static sag
    group: suspension
    limits: {lower: 20, upper: 40, nominal: 30, unit: mm}
    measured: {}
    severity: function
    required_in: [pre_delivery]
    source: Bench, invented
  - id: race
    display_name: Race sag
    group: suspension
    limits: {lower: 5, upper: 6, nominal: 5.5, unit: cm}
    measured: {}
    severity: function
    required_in: [pre_delivery]
    source: Bench, invented
  - id: rate
    display_name: Spring rate
    group: suspension
    limits: {lower: 98, upper: 102, nominal: 100, unit: N/mm}
    measured: {}
    severity: function
    source: Bench, invented
options:
  - id: hard_spring
    display_name: Hard spring
    amendment: {override: [{id: rate, limits: {lower: 148, upper: 152, nominal: 150, unit: N/mm}}]}
    source: Bench, invented
  - id: long_link
    display_name: Long link
    amendment: {override: [{id: race, limits: {lower: 60, upper: 70, nominal: 65, unit: mm}}]}
    source: Bench, invented
  - id: rigid_rear
    display_name: Rigid rear
    amendment: {remove: [race]}
    source: Bench, invented
  - id: track_kit
    display_name: Track kit
    amendment: {remove: [lamp_works]}
    source: Bench, invented
  - id: loud_pipe
    display_name: Loud pipe
    description: A pipe for closed courses.
    source: Bench, invented
planning:
  rear_suspension:
    sprung_mass_kg: 117.267
    rider_share: 0.7
    motion_ratio: 0.5
    spring_rate_n_per_mm: 100
    available_rates_n_per_mm: [80, 100, 150]
    static_sag_characteristic: static
    race_sag_characteristic: race
`

// bench returns the bench machine as changed by the test.
func bench(t *testing.T, change func(*pb.SpecSheet)) *spec.Revision {
	t.Helper()
	sheet := &pb.SpecSheet{}
	if _, err := document.Decode([]byte(benchSheet), sheet, document.Options{Name: "bench.yaml", MaxBytes: document.SheetMaxBytes}); err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(sheet)
	}
	rev, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return rev
}
