package storetest_test

import (
	"sync"
	"testing"

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
