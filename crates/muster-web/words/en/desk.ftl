# The desk: yard, machine, jobs, records.

## Yard
all = All
as-planned = as planned
back = back
bays-more = and { $count } more
bays-short = { $count } short
by-use = Verdict for which use
row-unseen = { $count ->
    [one] one check unseen
   *[other] { $count } checks unseen
}
clash = two records contradict each other
col-check = Tightest check
col-due = Due next
col-jobs = Jobs
col-margin = New to limit, margin
col-model = Model
col-next = Next outing
col-number = No.
col-stations = Stations
col-tags = Tags
col-verdict = Verdict
col-who = Who has it
due-day = { $what } { $day }
due-job = { $job }: { $state }
due-km = { $what } in { $km } km
due-walk = Walk-round, { $count ->
    [one] one check
   *[other] { $count } checks
}
filter = Filter
find-hint = H-, model, person
find-machine = Find a machine
finding-of = { $class } finding
group-fit = Fit
group-hold = Must not go out
group-unseen = Walk round first
group-watch = Look before it goes
in-workshop = Workshop
in-yard = in the yard
jobs = Jobs
judging = { $left ->
    [one] One machine is still being judged
   *[other] { $left } machines are still being judged
}
last-used = Last used
last-walked = last walked { $on }
menu = Menu
need-fit = { $count } fit
need-head = Tomorrow { $at }, { $name } needs { $count }
need-short = { $count } short
need-spare = { $machines } could fill the gap.
need-stopped = { $count } cannot go
need-watch = { $count } watch
no-machines = No machine is in this yard's books yet.
none-found = No machine is like this.
not-judged = Unseen, not judged yet
out-now = Out now
out-till = { $who }, till { $till }
past = past { $by }
records = Records
show-all = show all
sign-in-to-see = Who looks at the yard must be known here.
row-tagged = a hold tag hangs
tomorrow-none = Nothing is planned for tomorrow.
use-verdict = { $uses } { $verdict }
yard-caption = Machines with their verdicts. Arrow keys move from row to row, Enter opens one, the slash key searches.
yard-fetched = Fetching what this device carries. Till then every machine counts as unseen.
