package storetest_test

import (
	"sync"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

func TestModel(t *testing.T) {
	t.Parallel()
	var models sync.Map
	storetest.Run(t, func(t *testing.T) store.Store {
		model, _ := models.LoadOrStore(t.Name(), storetest.NewModel())
		return model.(*storetest.Model).Reopen()
	})
}

func TestModelSpecs(t *testing.T) {
	t.Parallel()
	var models sync.Map
	storetest.RunSpecs(t, func(t *testing.T) store.DB {
		model, _ := models.LoadOrStore(t.Name(), storetest.NewModel())
		return model.(*storetest.Model).Reopen()
	})
}

// TestSheet sees that the samples would be published.
func TestSheet(t *testing.T) {
	t.Parallel()
	for _, sheet := range []*pb.SpecSheet{storetest.Sheet(1, 1, 3), storetest.Sheet(99, 5, 20), storetest.Sheet(2, 1, 1)} {
		if problems := spec.Lint(sheet); len(problems) > 0 {
			t.Errorf("%s: %v", sheet.GetSpecId(), problems)
		}
	}
}
