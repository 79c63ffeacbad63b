# What runs out when: the wear page, the fan under a reading, the yard sorted by it.
ahead-days = days
ahead-fellows = No reading of this part yet: by its fellows alone, never a watch.
ahead-never = out of sight
ahead-now = now { $way }
ahead-ten-years = later than in ten years
ahead-today = today
ahead-far = Limit met in { $middle } ({ $early } to { $late }): not before { $first }.
ahead-farther = Limit met in { $middle } ({ $early } to { $late }): not within ten years.
ahead-past = Its last reading is past the limit, and counts till it is read again.
ahead-told = Limit met in { $middle } ({ $early } to { $late }): about { $usual } ({ $first } to { $last }).
runs-out = { $day }: { $what }
runs-out-first = Or wear: what runs out first
runs-out-short = or wear
runs-out-never = nothing in sight
wear = Wear
wear-by = By the limits for the road and the estimate of { $on }; figures in brackets hold with 90 %.
wear-cautions = A forecast only ever adds a watch; it never makes a machine fit. The handbook, the law and a qualified mechanic count.
wear-col-expected = Expected
wear-col-part = Part
wear-col-when = Limit met
wear-col-where = Where, and how likely
wear-col-within = Within { $count } weeks
wear-first = What runs out first
wear-first-cap = how likely its limit is met by then
wear-how-far = How far to look ahead
wear-later = { $count ->
    [one] One other part meets its limit within { $weeks } weeks with less than 5 %.
   *[other] { $count } other parts meet their limit within { $weeks } weeks with less than 5 %.
}
wear-looking = Looking at every machine
wear-none = Nothing was estimated yet. The server does so each night, once something was read.
wear-order = What to order for the next { $count } weeks
wear-order-cap = how many are expected
wear-order-none = Nothing is likely to run out.
wear-weeks = { $count } weeks
worst-first-ahead = worst first · when the limit is met with 5, 50 and 95 %, by the estimate of { $on }
