package service

import (
	"errors"

	"fairwindow/daemon/store"
)

// keeps notes whether the store kept the last change, and logs when that turns: not
// each time, for what is refused is sent again and again. Callers hold the turn.
func (s *Service) keeps(err error) {
	var trouble *store.TroubleError
	switch {
	case err == nil && s.trouble.notKept != "":
		s.trouble.notKept = ""
		s.log.Info("changes are kept again")
	case errors.As(err, &trouble) && s.trouble.notKept != trouble.What:
		s.trouble.notKept = trouble.What
		s.log.WithError(err).Error("a change could not be kept, and whoever brought it was told so; it is tried again with the next")
	}
}
