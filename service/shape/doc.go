// Package shape tells quickly that a set-up record is well formed.
//
// What is refused is said in one place, the constraints of the contract, and it
// is protovalidate that refuses. It walks a message by reflection, which for a
// record of many readings costs several times what judging it does. So what is
// plainly well formed is told here, by hand: true means that protovalidate would
// find nothing and that every time is one; false means only that this package is
// not certain, and that protovalidate must be asked.
//
// Nothing here may therefore be laxer than the contract, and anything may be
// stricter. Numbers and patterns are written twice by that, so testdata/constraints.txt
// holds every field and constraint this package was written for, and a test
// fails when the contract says otherwise. Whoever gets that failure changes the
// code here first, or makes it give false, and then the file with
//
//	go test ./service/shape -update
//
// Nothing here allocates, and everything is safe for concurrent use.
package shape
