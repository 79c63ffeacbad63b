# Round, fall, return, feedback.
round = Round
session = Session
scan = Scan
kerb-not-written = Nothing was written: try again

## Answers
kerb-could-not-see = Could not see
kerb-defective = Defective
kerb-doubtful = Doubtful
kerb-sound = Sound

## A fall
class-dangerous = class dangerous
ended-with-fall = {" · the fall ended them"}
fall = A fall
fall-more = more, in words that name nobody
fall-noted = { $machine }: the fall is noted. Now look.
fall-noted-later = { $machine }: the fall is noted; what it ended stands unseen until somebody looks
fall-of = A fall of { $machine }
fall-takes = 30 s, then look
hang-hold-tag = Hang hold tag
how = how
how-braking = braking
how-hit = hit something
how-riding = riding
how-standing = standing still
how-walking = walking pace
kerb-key-off = key off, engine stopped
leave-fall = Leave without noting
look-after-fall = A look at { $machine } after its fall
look-answer = { $check }: { $answer }, { $verdict }
look-at-machine = More than a look: the machine
look-caution = Hot parts burn, and what leaks may be fuel: no flame, engine off, on firm ground. In doubt, doubtful.
look-later = Look later
look-minutes = Look, { $minutes } min
look-on = Look on
look-unfinished = A look after a fall is open: { $count ->
    [one] 1 check
   *[other] { $count } checks
} left.
measure-too = To be measured in a walk-round: { $checks }.
not-said = not said
kerb-note-fall = Note the fall
odometer-optional = odometer, if it can be read
of-count = { $done } of { $count }
other-rider = other
part = part
part-bar-end = bar end
part-exhaust = exhaust
part-lamp = lamp
part-lever = lever
part-mirror = mirror
part-pedal = pedal
part-peg = peg
part-tank = tank
part-wheel = wheel
rider = rider
rider-caution = Are they all right? Stay with them; if in doubt call for help first, by your yard's plan. The machine can wait.
rider-first = Rider first.
save-look-later = Save, look later
save-look-now = Save, look now
say-how = Say how it fell: tap a word or write one
side = side
side-both = both sides
side-left = left
side-right = right
summary = Summary
summary-no-tag = Summary, no tag
kerb-tag-hung = { $machine }: hold tag hung
touched = touched: { $parts }
what-touched = touched

## A return
back-from = { $outing }, out till { $at }
kerb-class-dangerous-says = dangerous
kerb-class-major-says = major
kerb-class-minor-says = minor
damage = damage
damage-none = none seen
damage-raises = It becomes a finding. Minor: watch. Major or dangerous: hold until it is put right.
damage-some = something
damage-what = what is damaged
fuel = fuel
fuel-full = full
fuel-half = half
fuel-low = low
fuel-quarter = a quarter
kerb-how-grave = how grave
is-back = { $machine } is back
kerb-key = key
key-back = on its hook
key-elsewhere = elsewhere
leave-return = Leave without taking it back
kerb-not-out = { $machine } is not out
not-out-todo = Nothing is to be taken back. If it was out, it went without a release: walk round it.
kerb-out-twice = It was let out twice: choose the one that ends, then look at the machine.
return = Return
return-hold = Take back, hold
return-save = Take back
return-watch = Take back, finding
returned = { $machine } is back
say-damage = Say whether there is damage
say-damage-what = Say what is damaged
say-key = Say where the key is
to-machine = to { $machine }
which-outing = outing

## A round
air-is = air { $air }
air-optional = air in the yard, °C, if known
all-rounds = All rounds
back-to = Back to { $machine }
begin-round = Begin the round
kerb-cold = cold
kerb-delete-digit = Delete last digit
dock = Answer
end-round = End the round
front = front
further-figure = A further figure is
high = high { $figure }
impounded = impounded: leave it as it is
instrument = with
kerb-keypad = Keypad
last-said = last { $what }, { $when }
leave-round = Leave the round
low = low { $figure }
machines-are = they are
never-read = not read yet
next-is = Next: { $what }
no-such-check = No such check
once-for-all = Once for all
once-state = Key off, on their side stands. A machine that is otherwise is walked round by itself.
round-first-line = At each machine I look first: no hold tag on the bar, key on its hook
round-tag-found = One with a tag, or without its key, is left out: go to the next, and look at it by itself.
kerb-out-till = out till { $at }
read-again = read once more
rear = rear
round-beside = one check, many machines
round-done = Nothing is left on this round
round-done-how = What was passed over is walked round when it is back.
round-how = Most to do first. Each answer counts in its machine's walk-round.
round-lapsed = { $lapsed } of { $all } to do
round-which = Which round?
row = in row order
row-order = Machines in row order
set-found = set: found { $found }, now { $now }
set-to = set { $figures }
slip = slip of the keys
tag-on-bar = hold tag on the bar
kerb-tyre-temperature = tyre
kerb-warm = warm
warm-after = warm, read after { $at }
why-covered = covered
kerb-why-dark = too dark
kerb-why-hot = too hot
why-no-tool = no gauge at hand
why-not-here = not here
why-not-seen = Why it could not be seen
with = With { $instrument }

## A session
kerb-as-known = as known at { $at }
choose-machines = Choose the machines that go out
let-out = out till { $at }
machines = Machines
plan-for-others = { $count ->
    [0] Plan for another
    [one] Plan 1 for another
   *[other] Plan { $count } for another
}
plan-passenger = With a passenger each machine is planned on its own outing's screen
planned-seat = planned: it waits for somebody who may sign it
rider-not-said = rider not said
rider-of = Rider of { $machine }
say-riders = Say who rides { $machines } and what each weighs in kit: the plan is worked out from that
say-session = Say which session it is
say-till = Say till when
session-beside = one release for each
session-name = which class or session
session-of = A session let out
session-out = { $name }: { $count ->
    [0] no machine is out
    [one] 1 machine is out
   *[other] { $count } machines are out
}
session-planned = { $name }: { $count ->
    [0] no machine is planned
    [one] 1 machine is planned, for somebody who may sign it
   *[other] { $count } machines are planned, for somebody who may sign them
}
session-till = till
session-use = for
sign-plans = { $count ->
    [one] It plans the outing of 1 machine.
   *[other] It plans the outing of { $count } machines.
}
sign-and-release = { $count ->
    [0] Sign and release
    [one] Sign and release 1
   *[other] Sign and release { $count }
}

## A scan
camera = What the camera sees
kerb-find-machine = Find it
no-camera = No camera to look through: allow it for this page, or type the number
not-ours = No machine of this yard: { $code }
or-number = or its number
scan-beside = the code on a machine
scan-how = Hold the code on the sticker into the square.
scan-title = Find a machine by its code
