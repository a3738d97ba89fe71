package published

import (
	"slices"
	"testing"
)

func TestExportedFunctionsAreFound(t *testing.T) {
	names, err := exportedFunctions("../../workshop")
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]bool{
		"Decide": true, "Container.Volume": true, "Polygon.Area": true, // function, method by pointer, by value
		"InputError.Error": false, "Thread.String": false, "positive": false, "TestExportedFunctionsAreFound": false,
	} {
		if slices.Contains(names, name) != want {
			t.Errorf("%s listed: %v", name, !want)
		}
	}
}
