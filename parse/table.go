package parse

type tableBlock struct{ from, to int }

func (r *scriptReader) findTables()       {}
func (r *scriptReader) tableAt(i int) int { return -1 }
func (r *scriptReader) table(k int) int   { return 0 }
