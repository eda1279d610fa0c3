"""What a studio learns of its faults: answers, trials, outcomes, release tests, wanted effects."""
