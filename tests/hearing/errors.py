"""Kinds of error that hearing can make, in the words they are printed in."""

DENIAL_LOST = "denial heard as there"
DENIAL_MISSED = "denial not found as denied, or not at all"
DENIAL_MADE = "there, heard as denied"
FACT_MADE = "conjecture heard as fact"
FACT_ANYHOW = "sentence of conjectures yields a fact of any kind"
DOUBT_MADE = "fact heard as conjecture"
FROM_REMARK = "finding out of a remark"
FROM_ASIDE = "finding out of an aside"
FROM_HYPOTHETICAL = "finding out of a hypothetical"
REMARK_LOST = "remark not kept as one"
PART_WRONG = "condition right, part wrong"
CONDITION_WRONG = "part right, condition wrong"
NOT_HEARD = "nothing heard of it"
GRADE_WRONG = "grade not as told"
REPAIR_LOST = "earlier repair not noticed"
DONE_WRONG = "work done taken for to do, or the other way"
ERRORS = (
    DENIAL_LOST,
    DENIAL_MISSED,
    DENIAL_MADE,
    FACT_MADE,
    FACT_ANYHOW,
    DOUBT_MADE,
    FROM_REMARK,
    FROM_ASIDE,
    FROM_HYPOTHETICAL,
    REMARK_LOST,
    PART_WRONG,
    CONDITION_WRONG,
    NOT_HEARD,
    GRADE_WRONG,
    REPAIR_LOST,
    DONE_WRONG,
)
