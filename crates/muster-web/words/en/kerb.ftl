# Round, fall, return, feedback.
kerb-menu = At the kerb
round = Round
session = Session
scan = Scan
not-written = Nothing was written: try again

## Answers
could-not-see = Could not see
defective = Defective
doubtful = Doubtful
sound = Sound

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
key-off = key off, engine stopped
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
note-fall = Note the fall
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
tag-hung = { $machine }: hold tag hung
touched = touched: { $parts }
what-touched = touched

## A return
back-from = { $outing }, out till { $at }
class-dangerous-says = dangerous
class-major-says = major
class-minor-says = minor
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
how-grave = how grave
is-back = { $machine } is back
key = key
key-back = on its hook
key-elsewhere = elsewhere
leave-return = Leave without taking it back
not-out = { $machine } is not out
not-out-todo = Nothing is to be taken back. If it was out, it went without a release: walk round it.
out-twice = It was let out twice: choose the one that ends, then look at the machine.
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
