package unit

// Maybe is a value that may not be known. Unlike a plain one it is unknown until
// somebody gives it, so what was written before the value existed still says
// that nobody knows it. In JSON it is null, or left out with omitzero.
type Maybe[T ~float64] struct {
	value T
	known bool
}

// Some is a value that is known, unless it is NaN or infinite.
func Some[T ~float64](v T) Maybe[T] {
	if !Known(v) {
		return Maybe[T]{}
	}
	return Maybe[T]{v, true}
}

// OrNaN is the value, or NaN when nobody knows it.
func (m Maybe[T]) OrNaN() T {
	if !m.known {
		return NaN[T]()
	}
	return m.value
}

// IsZero reports that nobody knows the value.
func (m Maybe[T]) IsZero() bool { return !m.known }

// MarshalJSON writes the SI value, or null when unknown.
func (m Maybe[T]) MarshalJSON() ([]byte, error) { return marshal(m.OrNaN()) }

// UnmarshalJSON reads the SI value or null.
func (m *Maybe[T]) UnmarshalJSON(text []byte) error {
	var v T
	err := unmarshal(&v, text)
	if err == nil {
		*m = Some(v)
	}
	return err
}
