package planner

// words: what people held or pinned is as they said, and nothing starts in the past.
func (c *checker) words() {
	for _, s := range c.plan.Stages {
		if !s.placed() || s.State == Running {
			continue
		}
		if s.Start.Before(c.p.At) {
			c.report(s.Key, "order", "starts in the past, %v", s.Start)
		}
		if s.End.After(c.plan.Until) || s.End.Before(s.Start) {
			c.report(s.Key, "order", "ends %v", s.End)
		}
		done, ok := c.work.Stage(s.Key)
		if !ok {
			continue
		}
		if done.Held != "" {
			c.report(s.Key, "people's word", "held by %s", done.Held)
		}
		if s.Start.Before(done.Pinned) {
			c.report(s.Key, "people's word", "pinned to %v by %s", done.Pinned, done.PinnedBy)
		}
		if to := done.PinnedTo; to != "" && to != s.Place {
			c.report(s.Key, "people's word", "pinned to %s by %s, planned in %s", to, done.PinnedBy, s.Place)
		}
		if done.After != (Key{}) {
			c.turn(s, done)
		}
	}
}

// turn: what people put behind another boat's stage starts once that has ended.
func (c *checker) turn(s Planned, done Progress) {
	first, ok := c.work.Stage(done.After)
	if !ok || first.Done {
		return // it is over, or no longer asked for
	}
	for _, other := range c.plan.Stages {
		if other.Key == done.After && other.placed() && !s.Start.Before(other.End) {
			return
		}
	}
	c.report(s.Key, "people's word", "starts before %s has ended, which goes first by the word of %s", done.After, done.AfterBy)
}
