# The outing: words on a phone.

outing = Outing
work-outing-out = Work the outing out

## What is told
air-there-in = air on the way, { $unit }
back-by = back { $at }
front-click = front preload, click
height-here-in = height here, { $unit }
highest-in = highest place, { $unit }
in-the-dark = In the dark
inseam-in = inseam, { $unit }
less-of = less: { $what }
level = level
licence = licence
more-of = more: { $what }
more-told = Way, rider, air
outing-told = What the outing is
passenger-in = passenger in kit, { $unit }
rain = Rain
rear-click = rear preload, click
rider-in = rider in kit, { $unit }
road-kind = road
speed-in = speed, { $unit }
tank-in = tank or battery, %
tyres-in = tyres if warm, { $unit }
way-in = how far, { $unit }
weather = Weather

## What it comes to
as-it-is = as it is
before-leaving = Before leaving
click-to = click { $click }
front-preload = Front preload
front-tyre = Front tyre
is-now = now { $value }
margin = margin
next-stop = At the next stop
outing-faults = Told and cannot be: { $what }.
outing-fit = May go out for this.
outing-hold = Must not go out for this: { $what }.
outing-unseen = Not known to be fit for this: { $what }.
outing-watch = May go out for this, with care: { $what }.
part-loads = Loads and tyres
part-ride = Braking, stand and range
part-rider = Rider, machine and papers
part-settings = Springs and lamp
rear-preload = Rear preload
rear-tyre = Rear tyre
rests-on = By { $source }
to-do-first = { $count ->
    [one] 1 thing to do first
   *[other] { $count } things to do first
}
too-much = too much
unladen = unladen { $mass }

## For somebody else to sign
look-at-its-verdict = Look at the machine's own verdict
no-mass-here = What anybody weighs is not kept: what rests on it stands as it was worked out, what rests on the machine as it is now.
outing-watch-planned = May go out for this, with what stands below done.
plan-for-other = Plan for another
planned-by = Worked out by { $who }, { $at }.
planned-riders = { $riders }: { $uses }, till { $till }
planned-now = Planned: it waits with the machine for somebody who may sign it.
set-for-heaviest = Set for the heaviest
set-for-lightest = For the lightest
sign-plan = Plan the outing
the-machine-itself = the machine itself
to-the-outing = to the outing
waits-its = Sign: { $outing }
waits-no-more = This outing waits no more: it was let out, is over, or sheets and rules have changed. Work it out again.
waits-to-sign = Waits to be signed
what-to-set = What to set

## Letting it out
reason-outing = Why it goes out all the same
release-made = Release, all made
release-some-made = Release, { $made } of { $all } made

## A class
mass-of = { $name } in kit, { $unit }
the-heaviest = heaviest:
the-lightest = lightest:
