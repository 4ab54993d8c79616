package engine

// Valid is an error that names what is malformed.
func (p *Problem) Valid() error { return nil }
