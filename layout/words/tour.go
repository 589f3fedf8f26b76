package words

// TourWords are the fixed words of the page for somebody who is at the desk for the
// first time. The names of views are the desk's, which speaks English.
type TourWords struct {
	CardWords

	Title, Lead string
	What, How   [10]string // the steps of the job in order, and what there is to do
	Where       string     // heading: where in the desk
	Help        string     // below the steps
	Care        string     // the caution
}

// EnglishTour are the English words of that page.
var EnglishTour = TourWords{
	CardWords: English,

	Title: "The job in ten steps",
	Lead:  "From the phone ringing to the next operational period, and where each step is in the desk.",
	What: [10]string{
		"Know the load",
		"Take the plan",
		"Find each channel",
		"Pick the repeater",
		"Decide the order",
		"Decide who listens",
		"Get it to each person",
		"Build the list",
		"Prove that it is right",
		"Go on",
	},
	How: [10]string{
		"Check that the label on the radios, the printed book and the load in the folder show the same edition.",
		"Begin with name, hours and load, or paste the plan sheet and decide what is left to decide.",
		"Type a name, a frequency or a tone, and choose from what the load holds.",
		"A repeated channel asks for its repeater: take one that covers the fire.",
		"Command first, guard last, a position empty behind it, a tactical for each division.",
		"Who sits where, each seat’s own division first, and no more scanned slots than a person can follow.",
		"Look at what the checks say, then print at actual size and hand the cards out.",
		"Clear the old list, then build each radio's list from the card, slot by slot.",
		"Radio against card, card against plan, crew against crew; then a radio check.",
		"A change within the period is a revision; the next period is a new plan, and its cards say what to rebuild.",
	},
	Where: "In the desk",
	Help:  "F1 in a field says what it means. Each change is on the disk at once; Undo takes it back, and History holds former versions.",
	Care:  "The approved communications plan and the communications unit leader decide; cards and sheets only repeat them. Confirm by a radio check before you engage.",
}
