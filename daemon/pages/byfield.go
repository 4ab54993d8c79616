package pages

// Each form with a name to it, as the one template that asks for the name takes it.

// Hand is who presses.
func (f pressForm) Hand() byField { return byField{f.By, "Who", f.Who} }

// Hand is who measured.
func (f readingForm) Hand() byField { return byField{f.By, "Who", f.Faults.By} }

// Hand is who looked.
func (f signalsForm) Hand() byField { return byField{f.By, "Who", f.Faults.By} }

// Hand is who releases a draft.
func (f releaseForm) Hand() byField { return byField{f.By, "Who releases it", f.ByFault} }

// Hand is who heard a notice, or whose browser is rung.
func (f hearForm) Hand() byField { return byField{f.By, "Your name", ""} }
