package vin

import (
	"errors"
	"testing"
)

func TestSerialRangeContains(t *testing.T) {
	tests := []struct {
		r      SerialRange
		serial string
		want   bool
	}{
		{SerialRange{"000100", "000200"}, "000100", true},
		{SerialRange{"000100", "000200"}, "000150", true},
		{SerialRange{"000100", "000200"}, "000200", true},
		{SerialRange{"000100", "000200"}, "000099", false},
		{SerialRange{"000100", "000200"}, "000201", false},
		{SerialRange{"009990", "00A010"}, "00A000", true}, // digits before letters
		{SerialRange{"009990", "00A010"}, "00B000", false},
		{SerialRange{"", "000200"}, "000000", true},
		{SerialRange{"", "000200"}, "000201", false},
		{SerialRange{"000100", ""}, "ZZ9999", true},
		{SerialRange{"000100", ""}, "000099", false},
		{SerialRange{}, "000001", true},
		{SerialRange{}, "001", true},
		{SerialRange{}, "", false},
		{SerialRange{"000100", "000200"}, "150", false}, // of another length
		{SerialRange{"000100", ""}, "150", false},
		{SerialRange{"", "000200"}, "0000150", false},
		{SerialRange{"000200", "000100"}, "000150", false},
	}
	for _, tt := range tests {
		if got := tt.r.Contains(tt.serial); got != tt.want {
			t.Errorf("%+v contains %q: %v, want %v", tt.r, tt.serial, got, tt.want)
		}
	}
}

func TestSerialRangeValidate(t *testing.T) {
	for _, r := range []SerialRange{{}, {"000100", ""}, {"", "00A200"}, {"000100", "000100"}, {"009999", "00A000"}} {
		if err := r.Validate(); err != nil {
			t.Errorf("%+v: %v", r, err)
		}
	}
	for _, r := range []SerialRange{{"000200", "000100"}, {"000100", "200"}, {"00O100", ""}, {"", "00a100"}, {"000 00", "000100"}} {
		err := r.Validate()
		var bad *RangeError
		if !errors.As(err, &bad) || bad.Range != r || bad.Reason == "" {
			t.Errorf("%+v: %v", r, err)
		}
	}
}
