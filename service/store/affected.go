package store

// JudgedBy chooses the setups that were judged by one revision of a spec, or
// with revision nought by any of them. Stores read either from an index in the
// order of lists, so that every page of a long list costs the same.
func JudgedBy(specID string, revision int) Expr {
	if revision > 0 {
		return Compare{Field: FieldSpecRevision, Op: Equal, Value: RevisionName(specID, revision)}
	}
	return Compare{Field: FieldSpecRevision, Op: HasPrefix, Value: SpecName(specID) + "/revisions/"}
}
