package notify

import "time"

// overtakes reports whether who hears newer need not hear older any more, since it is newer's
// earlier revision or says what no longer holds. Newer must have been issued after older.
func overtakes(newer, older Notice) bool {
	if newer.ID == older.ID {
		return newer.Revision > older.Revision
	}
	if newer.Boat == "" || newer.Boat != older.Boat || newer.Area != older.Area || newer.Stage != older.Stage {
		return false
	}
	if newer.Pass != older.Pass && newer.Pass != 0 && older.Pass != 0 {
		return false
	}
	one := func(kinds ...Kind) bool {
		for _, k := range kinds {
			if older.Kind == k {
				return true
			}
		}
		return false
	}
	switch newer.Kind {
	case WindowOpens:
		return one(WindowOpens, WindowClosing, WindowClosed, WindowLapsed, WindowShortened)
	case WindowShortened:
		return one(WindowOpens, WindowClosing)
	case WindowClosed, WindowLapsed:
		return one(WindowOpens, WindowClosing, WindowShortened)
	case ReadyToSand:
		return one(ReadyToSand)
	case RecoatOpens:
		return one(RecoatOpens, RecoatLapsed)
	case RecoatLapsed:
		return one(RecoatOpens, RecoatLastCall, WeekendCloses)
	case StageMoved, StagePutOff:
		return one(StageMoved, StagePutOff)
	}
	return false
}

// takesBack reports whether newer says that the offer which older made no longer stands as told,
// so that whoever was told older must hear it, wanted or not.
func takesBack(newer, older Notice) bool {
	if !older.Kind.trait().offer || older.Withdrawn {
		return false
	}
	if newer.ID == older.ID {
		return newer.Withdrawn
	}
	return overtakes(newer, older) && newer.Kind != older.Kind && newer.Kind != WindowOpens
}

// over reports whether what a notice offers has ended.
func (n Notice) over(now time.Time) bool {
	return n.Kind.trait().offer && !n.Until.IsZero() && !n.Until.After(now)
}
