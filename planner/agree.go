package planner

import (
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// agrees reports whether the boat's stages that are placed already still hold
// when those of l are put in. Only a coat in a booth changes another area's air.
func (s *schedule) agrees(i int, l *layout) bool {
	if l.place < 0 || s.places[l.place].Kind != config.Booth || len(coatsOf(l.at)) == 0 {
		return true
	}
	for _, p := range s.boats[i].placed {
		if p.job.area != l.area {
			return s.holds(s.boats[i].placed, l.way())
		}
	}
	return true
}

// holds reports whether stages keep to their cures and windows along a way. What
// runs already cannot be helped.
func (s *schedule) holds(all []*placed, w way) bool {
	broken, _ := s.breaks(all, w)
	return broken == nil
}

// breaks is the first stage that does not keep to them, and why; nil if all do.
func (s *schedule) breaks(all []*placed, w way) (*placed, refusal) {
	for _, p := range all {
		if p.running {
			continue
		}
		if p.film != nil {
			if !p.job.unlimited() && p.start < s.out.opens(p.film, p.job.stage.Needs(), w) {
				return p, refusal{cause: KeptClose, note: "it would not be cured enough"}
			}
			if p.coating && p.start >= s.out.closes(p.film, w) {
				return p, refusal{cause: KeptClose}
			}
			if until := p.job.stage.Until; until != "" && !p.job.worked() && p.end < s.out.opens(p.film, until, w) {
				return p, refusal{cause: KeptClose, note: "it would not be cured enough"}
			}
		}
		if p.coating && p.place >= 0 {
			if o := s.coated(p, w); !o.ok {
				return p, refusal{cause: OutOfLimits, outcome: &o}
			} else if o.protect > p.protect || o.dustFree > p.dustFree {
				return p, refusal{cause: KeptClose, note: "it would dry more slowly than planned"}
			}
		} else if p.place >= 0 && p.job.worked() {
			for _, part := range p.parts {
				if o := s.works(p.job, p.place, w, part.From, part.To); !o.ok {
					return p, refusal{cause: OutOfLimits, outcome: &o}
				}
			}
		}
	}
	return nil, refusal{}
}

// curesEnd is when the last of the cures that the boat waits for without being worked
// at is over, as far as it is while l changes where the boat waits: the new place may
// be a colder one, and so may be the one it stays in rather than go to a standing.
func (s *schedule) curesEnd(i int, l *layout) engine.Slot {
	end, st := s.now, s.boats[i]
	if len(l.stays) == 0 {
		return end
	}
	from := l.stays[len(l.stays)-1].from
	if st.refuge > 0 {
		from = min(from, st.stays[st.refuge-1].to)
	}
	for _, p := range st.placed {
		until := p.job.stage.Until
		if until != "" && p.job.anywhere() && !p.running && p.end > from {
			end = max(end, s.out.opens(p.film, until, l.way()))
		}
	}
	return end
}
