#include "meaning/condition.h"

#include "text/utf8.h"

/* The one `shall` of the one requirement around the words; 0 when they brought more with them. */
static NodeId only_condition(const Tree *tree, NodeId item) {
    if (item == 0 || tree_node(tree, item)->next != 0 || tree_node(tree, item)->kind != NODE_REQUIREMENT) return 0;
    NodeId found = 0;
    for (NodeId id = tree_node(tree, item)->c; id != 0; id = tree_node(tree, id)->next) {
        const Node *option = tree_node(tree, id);
        if (option->kind != NODE_OPTION || option->op != OPTION_SHALL || found != 0) return 0;
        found = option->a;
    }
    return found;
}

NodeId condition_read(Arena *arena, Sources *sources, Tree *tree, Messages *messages, Text option, Text words) {
    const Text before = TEXT("requirement x { shall "), after = TEXT("\n}\n");
    size_t offset = 0, length = 0;
    if (utf8_check(words, &offset, &length) != UTF8_FINE) {
        SAY(messages, OPTION_VALUE, ((Span){0, 0}), option, TEXT("a condition in UTF-8"), TEXT("other bytes"));
        return 0;
    }
    const Text parts[3] = {before, words, after};
    Source *source = source_add(sources, option, option, text_fill(arena, TEXT("{0}{1}{2}"), parts, 3), SOURCE_NAMED);
    if (source == NULL) return 0;
    Span all = {source->base, source->base + (uint32_t)source->bytes.length};
    Span inside = {all.start + (uint32_t)before.length, all.end - (uint32_t)after.length};
    if (source->blocks.count == 0) VECTOR_PUSH(arena, &source->blocks, all);
    uint32_t said = messages->list.count, errors = messages->errors;
    NodeId item = syntax_read(tree, source, messages);
    source_narrow(source, before.length, words.length);
    NodeId condition = messages->errors == errors ? only_condition(tree, item) : 0;
    if (condition != 0) return condition;
    if (messages->errors == errors || !messages_inside(messages, said, inside)) {
        messages_take_back(messages, said, 0);
        SAY(messages, WHERE_MALFORMED, words.length > 0 ? inside : ((Span){0, 0}), words);
    }
    return 0;
}
