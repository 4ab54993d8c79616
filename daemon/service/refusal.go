package service

import "fmt"

// Refusal is why something a person did was not taken: a sentence for him, with
// a way out. Nothing was changed.
type Refusal struct{ sentence string }

func refuse(format string, args ...any) error { return Refusal{fmt.Sprintf(format, args...)} }

// Error is the sentence.
func (r Refusal) Error() string { return r.sentence }

// Public is the sentence; it may be shown to anyone.
func (r Refusal) Public() string { return r.sentence }
