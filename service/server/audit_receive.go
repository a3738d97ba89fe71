package server

// untilStopping is recv, except that it is given up when the service shuts down:
// then the call must end, and what comes after is lost. It is for requests that come
// before a call has anything else to wait for.
func untilStopping[T any](stopping <-chan struct{}, recv func() (T, error)) func() (T, error) {
	type received struct {
		request T
		err     error
	}
	return func() (T, error) {
		got := make(chan received, 1)
		go func() {
			var r received
			defer func() { got <- r }()
			defer catch(&r.err)
			r.request, r.err = recv()
		}()
		select {
		case r := <-got:
			return r.request, r.err
		case <-stopping:
			var none T
			return none, errStopping
		}
	}
}
