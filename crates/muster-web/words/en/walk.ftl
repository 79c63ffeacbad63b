# The walk-round: words on a phone.

## Where one is
all-checks = All checks
back-one = back to the check before
back-to-check = Back
check-of = { $at } of { $all }
check-of-station = check { $at } of { $all }
leave-walk = leave the walk-round
station-cockpit = Cockpit
station-front-wheel = Front wheel
station-left-side = Left side
station-map = Station map, seen from above: all checks
station-of = station { $at } of 6
station-rear-wheel = Rear wheel
station-right-side = Right side
station-under = Under
to-come = to come
still-to-set = to set
to-the-end = To the end
to-the-machine = to the machine
walk-round = Walk-round
where-you-are = Where you are

## State
as-found = As found
cold = cold
engine-cold = Engine cold
engine-hot = Engine hot
engine-runs = engine runs
engine-warm = Engine warm
first = First: { $what }
front-raised = front wheel up
heat = Engine and tyres
held-upright = held upright
hot = hot
key = Key
key-off = key off
key-on = key on
on-side-stand = on side stand
rear-raised = rear wheel up
rider-seated = rider seated
so-that = then: { $state }
stance = How it stands
warm = warm

## Start
air-in = Air now, { $unit }
back-at = Back at
walk-begin = Begin
depth = Depth
depth-after-a-fall = after a fall
depth-back-in-service = back in service
depth-before-ride = before ride
depth-full = full
depth-handover = handover
depth-intake = intake
first-line = First line
go-on = Go on
key-on-hook = Key on its hook
look-for-tag-first = Look for a hold tag first
no-hold-tag = No hold tag on the bar
odometer-in = Odometer, { $unit }
odometer-still = It still shows { $odometer } { $unit }
odometer-why = Lives end by distance too: without the odometer some checks are asked again. Without the air a warm tyre cannot be judged.
open-walk = { $who } opened a walk-round at { $at }; { $done } of { $all } checks are answered.
take-over-walk = Take it over
there-is-a-tag = There is a tag: look at the machine
use = Use
use-dark = Dark
use-passenger = Passenger
use-range = Range
use-road = Road
what-for = What for

## A check
add-note = add a note
answer-this = Answer to this check
answer-and-go-on = Answer and go on
cancel = Cancel
class-dangerous-says = Class dangerous: a doubt stops it till a second person looks.
class-major-says = Class major: a defect stops it.
class-minor-says = Class minor: a defect is mended, and stops nothing by itself.
could-not-see = Could not see
could-not-see-why = Could not see: why?
days-ago = { $days } days ago
defective = Defective
doubtful = Doubtful
in-plain-words = In plain words
keep-note = Keep
last-answer = Last: { $said }, { $when }, { $who }
limits-and-practice = Limits, sources, practice
never-answered = Never answered
walk-next = Next
no-walk = No such walk-round is known here.
not-written = Not done: { $why }
note = Note
note-goes = With the answer: { $note }
note-says = It goes with your answer to this check.
places = Places
places-say = touch one to answer it alone
save-unseen = Save as unseen
say-why = say why
second-looks = a second person looks
skip = Skip
sound = Sound
today-at = today { $at }
unseen-never-fit = It stays unseen. Unseen is never fit.
why-alone = nobody to help
why-dark = too dark
why-dirt = covered in dirt
why-hot = too hot
why-no-gauge = no gauge
why-no-stand = no stand free
yesterday = yesterday

## A reading
air-now = air now
binds-no-use = binds no use here
could-not-read = Could not read it
decimal-sign = decimal sign
delete-digit = delete the last digit
gauge-reads = gauge reads
go-to = go to { $field }
keypad = Keypad
last-day = Last day it is good for
minus = below zero
no-instrument = No instrument of this yard reads this: add one at the desk.
not-now = Not now
now-read-again = Now read it again.
read-again-after = { $act }: read again
read-with = Read with
set-act = set
slip-of-keys = My last figure was a slip of the keys: this one corrects it
then = Then: { $next }
tyre-temperature = tyre
was-set = set: found { $found }, now { $now }
week-and-year = week and year on the wall
why-far-off = Why was it so far off?
worked-out = How it is worked out

## A finding
another-photo = Another photo
class-preset = Class. For this check it is { $class }; raise it where it is graver.
dangerous = Dangerous
dangerous-leads = do not start
drop-photo = Drop
finding = Finding
finding-at = Finding: { $check }
finding-on = Finding { $number } on { $machine }
found-by = { $what } ({ $who }, { $on })
how-grave = How grave
major = Major
major-leads = hold until mended
minor = Minor
minor-leads = ride on, look again
no-finding = No finding
photo = Photo
photo-kept = Photo kept; it is sent when there is signal.
photo-not-read = The photo cannot be read: { $why }
photo-number = photo { $number }
photo-too-large = A photo has at most { $mb } MB: take it with a lower resolution.
save-and-hold = Save and hold
save-finding = Save finding
take-photo = take a photo
what-found = What was found
which-defect = Which of the law's defects it is: none chosen counts as the gravest
which-none = Not sure: the gravest counts

## The end
all-seen = All { $all } checks are answered.
close-all-the-same = Close all the same
close-walk = Close, see the verdict
not-now-checks = Not in this state
see-verdict = See the verdict
some-left = { $left ->
    [one] 1 of { $all } checks is left. What is left stays unseen.
   *[other] { $left } of { $all } checks are left. What is left stays unseen.
}
walk-closed = This walk-round is closed
walk-closed-says = A second reading stands beside the first: open another walk-round.
walk-end = End of the walk-round

## The verdict
add-rider = add …
another-tag = Hang another tag
as-known-at = as known at { $at }
ask-workshop = Ask the workshop
checks-fit = { $count ->
    [one] 1 check fit
   *[other] { $count } checks fit
}
checks-unseen = { $count ->
    [one] 1 check unseen
   *[other] { $count } checks unseen
}
clear-job = Job
clear-look = Look
clear-set = Set
clear-walk = Walk-round
hang-tag = Hang hold tag
hold-every-use = hold for every use
jobs-open = Asked already: { $jobs }
judged-for = Judged for
kind-of-work = Kind of work
may-go = { $one ->
    [range] May go out on the range.
    [road] May go out on the road.
    [passenger] May go out with a passenger.
   *[dark] May go out in the dark.
}
may-go-watch = { $count ->
    [one] May go out: { $one }. One thing to watch.
   *[other] May go out: { $one }. { $count } things to watch.
}
must-not = Must not go out: { $one }. { $holds ->
    [one] One thing stops it
   *[other] { $holds } things stop it
}{ $unseen ->
    [0] .
    [one] , one is unseen.
   *[other] , { $unseen } are unseen.
}
no-time = Write the time it is back as hours and minutes.
not-known-fit = Not known to be fit: { $one }. { $count ->
    [one] One check is unseen.
   *[other] { $count } checks are unseen.
}
reason-against = Why it goes out all the same
reasons = Reasons
release = Release
release-against = Release against it
released = Released.
same-every-use = { $verdict } for every use
hold-tag = Hold tag
tag-hangs = { $tag }, { $who }, { $at }.
tag-hung = Hold tag hung. Take the key off its hook.
tag-number = Number printed on the tag
tag-say-why = Say why the tag hangs.
tag-says = Hang the tag on the bar and its stub on the key's hook. It may be pushed, or go to the workshop.
tag-why = Why
take-off-rider = take { $name } off
tick-first = Tick each condition first: it goes out on them.
tightest = Tightest: { $name } { $reason }
verdict = Verdict
walked = { $depth }; checks answered: { $count }, in { $minutes } min
walking = { $depth }; checks answered: { $count }, not closed
what-clears = What clears it
who-rides = Who rides
who-signs = { $who } signs
why-no-release = Not to be released: see what clears it, or hang a hold tag.
workshop = Workshop
workshop-asked = The workshop is asked.

## Signing
digits-typed = { $count } digits typed
no-pin = Sign without a PIN
pin-checked-here = No signal: this phone checks the PIN.
pin-not-set = No PIN is set yet: whoever holds this phone can sign in your name.
pin-of = PIN of { $who }
pin-offline = No signal: the PIN says whose act this is, and is checked against nothing.
pin-set-one = Set one
pin-wrong = This is not the PIN: type it again.
press-again = press Enter again
press-then-pin = press 1 s, then PIN
sign = Sign
sign-release = It signs the release.
sign-session = { $count ->
    [one] It signs the release of 1 machine.
   *[other] It signs the release of { $count } machines.
}
sign-tag = It signs the hold tag.
sign-untag = It signs the lifting of the tags.

## A paper form typed in
after-setting = Set, then read again
begun-at = Begun at
close-form = Close the form and see the verdict
ended-at = Ended at
finding-kept = Kept: { $what }
form-typed-in = Type in a paper form
found-besides = Found besides
from-paper = from the paper form
from-paper-of = from the paper form, walked by { $who }
half-typed = A form begun { $when } is not closed yet.
no-time-here = Give the date, and the times as hours and minutes.
none-yet = none yet
row-kept = kept
rows-not-kept = Not kept, mend or empty them first: { $rows }
time-to-come = { $at } is still to come: give the times as they stand on the paper.
tyre-code = week and year, 4 figures
type-the-checks = Type in the checks
typed-form-of = Paper form of { $machine }
typed-head = { $depth }, for { $use }, begun { $when }
typed-how = Type what stands on the paper. It is kept as of the time it was walked, under your name, with who walked beside each answer.
typed-rows-how = A row is kept when you leave it. An answer changed afterwards is kept as a correction.
walker = Walked by
well-unit = unit
walked-on = Walked on
where-it-is = where
with-gauge = with
