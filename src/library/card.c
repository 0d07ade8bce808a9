/* What is wrong with one card, at its nominal values. */
#include <math.h>

#include "library/audit_card.h"

static const Node *node_of(const CardAtWork *work, NodeId id) { return tree_node(work->program->model->tree, id); }

bool card_owns(const CardAtWork *work, ObjectId object) { return work->owned[object]; }

Standing card_standing(CardAtWork *work, const Judged *judged, Outcome *outcome) {
    const Computed *values = work->evaluation->values, *when = judged->when ? &values[judged->when] : NULL;
    *outcome = (Outcome){.state = OUTCOME_UNCOMPUTED, .share = NAN, .absolute = NAN, .trouble = judged->when};
    if (when && when->state == COMPUTED_UNKNOWN) return STANDING_IDLE;
    if (when && when->state == COMPUTED_NUMBER && when->number == 0) return STANDING_IDLE;
    if (when && when->state != COMPUTED_NUMBER) return STANDING_UNCOMPUTED;
    if (judged->shall == 0) return STANDING_IDLE;
    *outcome = judge_condition(&work->judge, judged->shall);
    switch (outcome->state) {
    case OUTCOME_HOLDS: return STANDING_HOLDS;
    case OUTCOME_FAILS: return STANDING_FAILS;
    case OUTCOME_UNKNOWN: return STANDING_IDLE;
    case OUTCOME_UNCOMPUTED: break;
    }
    return STANDING_UNCOMPUTED;
}

static double number_of(const CardAtWork *work, StepId step) {
    const Computed *value = &work->evaluation->values[step];
    return value->state == COMPUTED_NUMBER ? value->number : NAN;
}

static AuditFinding finding_of(const CardAtWork *work, AuditKind kind, ObjectId object, uint32_t slot, NodeId node) {
    const Object *owner = &work->program->objects.at[object];
    bool stated = slot != UINT32_MAX && owner->slots[slot].stated != 0;
    uint32_t place = stated ? owner->slots[slot].stated_span.start : node_of(work, owner->node)->span.start;
    return (AuditFinding){.kind = kind, .card = work->card, .filled = owner->node, .form = owner->form, .place = place, .slot = slot, .node = node,
                          .leaf = {.kind = CONDITION_BROKEN}, .found = NAN, .limit = NAN, .allowed = NAN};
}

/* ---- what has no value -------------------------------------------------------------------------------------------- */

static bool slot_of_origin(const CardAtWork *work, ObjectId object, StepId origin, uint32_t *slot) {
    const Object *owner = &work->program->objects.at[object];
    uint32_t count = form_of(work->program->model, owner->form)->members.count;
    for (uint32_t i = 0; i < count; i++) {
        StepId step = owner->slots[i].operand.step;
        while (step > origin && work->program->steps.at[step].kind == STEP_NEEDS) step = work->program->steps.at[step].a;
        if (owner->slots[i].state != SLOT_DONE || step != origin) continue;
        *slot = i;
        return true;
    }
    return false;
}

static NodeId needs_option(const CardAtWork *work, const Member *member, Span span) {
    for (NodeId id = node_of(work, member->node)->c; id != 0; id = node_of(work, id)->next) {
        if (node_of(work, id)->op == OPTION_NEEDS && node_of(work, id)->span.start == span.start) return id;
    }
    return 0;
}

/* Once for each origin. What failed in another card is told there. */
static void find_failure(CardAtWork *work, StepId step, ObjectId object, uint32_t slot, NodeId node, AuditFindings *findings) {
    Failure failure;
    StepId origin = evaluation_origin(work->evaluation, step, &failure);
    if (failure == FAILURE_BROKEN) work->mistaken = true;
    if (failure == FAILURE_BROKEN || failure == FAILURE_NONE || map_get(&work->told, origin, 0)) return;
    map_set(&work->told, origin, 1);
    const Step *failed = &work->program->steps.at[origin];
    if (card_owns(work, failed->owner) && slot_of_origin(work, failed->owner, origin, &slot)) object = failed->owner;
    else if (failed->owner != 0 && failed->owner != object && !work->program->objects.at[failed->owner].law) return;
    const Form *form = form_of(work->program->model, work->program->objects.at[object].form);
    NodeId option = failure == FAILURE_NEEDS && slot != UINT32_MAX ? needs_option(work, &form->members.at[slot], failed->span) : 0;
    if (option == 0 && slot != UINT32_MAX) node = form->members.at[slot].node;
    AuditFinding finding = finding_of(work, option ? AUDIT_VALIDITY : AUDIT_NO_VALUE, object, slot, option ? option : node);
    finding.failure = failure;
    if (option) finding.found = number_of(work, failed->a);
    VECTOR_PUSH(work->audit->arena, findings, finding);
}

static void find_failures(CardAtWork *work, AuditFindings *findings) {
    for (uint32_t o = 0; o < work->object_count; o++) {
        const Object *object = &work->program->objects.at[work->objects[o]];
        uint32_t count = form_of(work->program->model, object->form)->members.count;
        for (uint32_t i = 0; i < count; i++) {
            const Slot *slot = &object->slots[i];
            if (slot->operand.class == OPERAND_BROKEN) work->mistaken = true;
            bool has_step = slot->operand.class == OPERAND_VALUE || slot->operand.class == OPERAND_TRUTH || slot->operand.class == OPERAND_WORD;
            if (!has_step || work->evaluation->values[slot->operand.step].state != COMPUTED_FAILED) continue;
            find_failure(work, slot->operand.step, work->objects[o], i, 0, findings);
        }
    }
}

/* ---- what is judged ----------------------------------------------------------------------------------------------- */

static AuditFinding disagreement(const CardAtWork *work, const Judged *judged) {
    const Slot *slot = &work->program->objects.at[judged->object].slots[judged->slot];
    const Condition *condition = &work->program->conditions.at[judged->shall];
    AuditFinding finding = finding_of(work, AUDIT_AGREEMENT, judged->object, judged->slot, judged->node);
    finding.found = number_of(work, slot->operand.step);
    finding.limit = number_of(work, slot->agreement);
    finding.allowed = number_of(work, condition->right);
    finding.leaf = *condition;
    finding.allowed_is_amount = !dimension_is_number(condition->measure.dimension);
    return finding;
}

static AuditFinding broken_rule(const CardAtWork *work, const Judged *judged, const Outcome *outcome) {
    AuditFinding finding = finding_of(work, judged->advice ? AUDIT_REMARK : AUDIT_RULE, judged->object, UINT32_MAX, judged->node);
    uint32_t leaf = outcome->leaf;
    const Condition *whole = &work->program->conditions.at[judged->shall];
    if (leaf == 0 && whole->kind == CONDITION_COMPARE) leaf = judged->shall;
    if (leaf == 0) return finding;
    finding.leaf = work->program->conditions.at[leaf];
    finding.leaf.children = NULL;
    finding.found = number_of(work, finding.leaf.left);
    finding.limit = number_of(work, finding.leaf.right);
    return finding;
}

static void find_judged(CardAtWork *work, bool advice, JudgedKind kind, AuditFindings *findings) {
    for (uint32_t i = 0; i < work->program->judged.count; i++) {
        const Judged *judged = &work->program->judged.at[i];
        if (judged->kind != kind || judged->advice != advice || !card_owns(work, judged->object)) continue;
        Outcome outcome;
        Standing standing = card_standing(work, judged, &outcome);
        if (standing == STANDING_UNCOMPUTED && outcome.trouble != 0) {
            find_failure(work, outcome.trouble, judged->object, kind == JUDGED_AGREEMENT ? judged->slot : UINT32_MAX, judged->node, findings);
        }
        if (standing != STANDING_FAILS) continue;
        VECTOR_PUSH(work->audit->arena, findings, kind == JUDGED_AGREEMENT ? disagreement(work, judged) : broken_rule(work, judged, &outcome));
    }
}

/* As they are read: the form has its members in another order than the card. */
static void sort_by_place(AuditFindings *findings, uint32_t first) {
    for (uint32_t i = first + 1; i < findings->count; i++) {
        AuditFinding one = findings->at[i];
        uint32_t k = i;
        for (; k > first && findings->at[k - 1].place > one.place; k--) findings->at[k] = findings->at[k - 1];
        findings->at[k] = one;
    }
}

void card_judge(CardAtWork *work, AuditFindings *findings) {
    find_failures(work, findings);
    sort_by_place(findings, 0);
    uint32_t first = findings->count;
    find_judged(work, false, JUDGED_AGREEMENT, findings);
    sort_by_place(findings, first);
    find_judged(work, false, JUDGED_RULE, findings);
    find_judged(work, true, JUDGED_RULE, findings);
}
