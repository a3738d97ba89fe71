// Package pagetest looks at the pages that the service makes: by strict parsing, in
// a real browser, and as they are printed. It is for tests.
package pagetest
