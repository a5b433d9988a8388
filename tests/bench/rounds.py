"""Rounds in which two sides take turns. A shared machine is fast in one minute and slow in the next; what both did in
the same minute can be compared, so ratios are made round by round, and their median is the result."""
import statistics


def spread(values):
    return {'min': min(values), 'median': statistics.median(values), 'max': max(values)}


def column(rounds, name):
    return [one[name] for one in rounds]


def ratios(rounds, ours, theirs):
    return spread([one[ours] / one[theirs] for one in rounds])


def text(values, digits=0):
    """`min - median - max`, the median in bold."""
    low, middle, high = (f'{values[name]:,.{digits}f}' for name in ('min', 'median', 'max'))
    return f'{low} - **{middle}** - {high}'
